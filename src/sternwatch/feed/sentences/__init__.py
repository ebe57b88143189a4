"""The room that turns one line into readings: frames, checksums, strict fields, dates, rate gates."""
