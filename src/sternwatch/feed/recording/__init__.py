"""The room of recordings: writing them as received, opening them fast, and the clocks that stamp them."""
