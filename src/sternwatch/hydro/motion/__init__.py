"""The room of motion: chains stepped through time. Import `fleet` and `report`; the rest is compiled inside."""
