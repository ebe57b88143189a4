"""The room of the bottom: soundings by place, the room under every lure, marked places. Import `bottom.Bottom`."""
