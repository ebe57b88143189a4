"""The room of sessions: live, played back, and the threads beside them. Import `runner`."""
