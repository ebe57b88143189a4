"""The room of the helm screen: rods, strip, glance, and the views of the chains."""
