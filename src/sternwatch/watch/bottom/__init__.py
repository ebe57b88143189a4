"""The room of the bottom: soundings by place, the room under every lure, the slope ahead, places marked."""
