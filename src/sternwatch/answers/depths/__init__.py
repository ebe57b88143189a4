"""The room of steady answers: depth at a speed, line out for a depth, let-out cards, and the effect of changes."""
