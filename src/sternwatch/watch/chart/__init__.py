"""The room of the chart: the bottom as sounded and as imported on one grid, with its contours. Draws nothing."""
