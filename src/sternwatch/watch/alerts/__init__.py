"""The room of alerts: what gives cause, the rules that raise them, when they are heard. Import `alerts.Alerts`."""
