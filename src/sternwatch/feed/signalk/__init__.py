"""The room of Signal K: turns deltas (an open standard, JSON), over TCP or a websocket, into readings."""
