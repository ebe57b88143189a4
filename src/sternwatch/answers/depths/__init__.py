"""The room of steady answers: depth at a speed, line out for a depth, let-out tables, what changes if."""
