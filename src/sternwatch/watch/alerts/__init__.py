"""The room of alerts: what gives cause, the rules that raise them, and when they are heard."""
