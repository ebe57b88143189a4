"""The room of alerts: their causes, the rules that raise them, and when they sound. Import `alerts.Alerts`."""
