"""The room of the bottom: soundings by place, the room under every lure, places marked. Import `bottom.Bottom`."""
