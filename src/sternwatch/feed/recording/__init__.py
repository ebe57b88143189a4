"""The room of recordings: written as received, opened fast, and the clocks that stamp them."""
