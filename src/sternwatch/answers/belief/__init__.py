"""The room of what is believed: priors, calibrations, observations and their fit."""
