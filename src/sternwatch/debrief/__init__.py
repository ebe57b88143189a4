"""What a trip has taught: rates with their intervals, what produced, the report, exports."""
