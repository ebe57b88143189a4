"""The room of Signal K: deltas (an open standard, JSON) over TCP or a websocket to readings."""
