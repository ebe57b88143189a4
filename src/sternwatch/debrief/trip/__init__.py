"""The room of one trip to debrief: its source, its digest, packing and exports."""
