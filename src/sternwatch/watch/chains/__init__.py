"""The room of the live chains: every rod of every member, and where lines lie. Import `chains.Chains`."""
