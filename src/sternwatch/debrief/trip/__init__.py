"""The room of one trip to be debriefed: where it comes from, its digest, packing and exports."""
