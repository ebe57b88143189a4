"""The room of NMEA 2000 (IEC 61162-3): a gateway's text to frames, frames to messages, messages to readings."""
