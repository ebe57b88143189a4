"""The room of *again*: how to bring a chosen lure once more through a place, at a depth. Import `plan.propose`.

A proposal and never a promise: the person in charge looks out and steers. Not for navigation.
"""
