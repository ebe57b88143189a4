"""The room of the debrief screen: its plots and words."""
