"""The room of sessions: live, played back, and the threads that work beside them. Import `runner`."""
