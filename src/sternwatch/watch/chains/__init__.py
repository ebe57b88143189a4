"""The room of the live chains: every rod of every member, and where the lines are. Import `chains.Chains`."""
