"""The room of NMEA 2000 (IEC 61162-3): turns a gateway's text into frames, messages and readings."""
