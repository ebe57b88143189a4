"""The room of counting: hits and hours by factor, rates with their intervals, what produces."""
