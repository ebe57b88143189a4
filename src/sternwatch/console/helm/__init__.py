"""The room of the helm screen: rods, strip, glance, and views of the chains."""
