"""A simulated boat, lake and fish that speak NMEA, and drills with scores: a session whose truth is known."""
