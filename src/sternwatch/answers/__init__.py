"""The answers to crews' questions: chains from gear, depths, checks, what is believed."""
