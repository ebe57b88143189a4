"""The room of the chart on the screen: how it is looked at and drawn. Its bottom is made in watch/chart."""
