"""The room of acts that only a practice boat has: her wheel and throttle, and failing instruments."""
