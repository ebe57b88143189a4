"""What crews ask: chains made from gear, depths, checks, what is believed."""
