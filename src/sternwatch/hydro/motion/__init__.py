"""The room of motion: steps chains through time. Import `fleet` and `report`; the rest is compiled code."""
