"""The room of acts that only a practice boat knows: her wheel and throttle, and instruments that fail."""
