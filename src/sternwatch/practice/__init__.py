"""A simulated boat, lake and fish that speak NMEA, and drills with scores: sessions whose truth is known."""
