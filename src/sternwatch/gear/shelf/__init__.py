"""The room of the user's shelf: pieces kept for later, and putting a rig from the shelf onto a rod."""
