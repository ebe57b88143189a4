"""The room of the outlook: forecasts renewed beside a session, their advice and their alerts."""
