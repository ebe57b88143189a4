"""What a trip teaches: rates with their intervals, what produced, the report, exports."""
