"""The room of the chart on the screen: its view and its drawing. The room watch/chart makes its bottom."""
