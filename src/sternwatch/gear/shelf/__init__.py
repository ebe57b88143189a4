"""The room of the user's shelf: pieces kept for later, and how a rig goes from it onto a rod."""
