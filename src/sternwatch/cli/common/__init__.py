"""The room of what commands share: options, exits, sessions, the logbook, calibrations."""
