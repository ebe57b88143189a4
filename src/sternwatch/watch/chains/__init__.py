"""The room of the live chains: every rod of every member, the spread in force, and where lines lie."""
