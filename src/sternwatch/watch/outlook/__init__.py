"""The room of the outlook: forecasts renewed beside a session, with advice and the alerts they raise."""
