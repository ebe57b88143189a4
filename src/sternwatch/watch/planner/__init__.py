"""The room of the spread plan: proposes, tries and checks settings and lengths, and the order to let out."""
