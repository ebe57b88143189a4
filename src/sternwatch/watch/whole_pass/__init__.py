"""The room of a whole pass: legs and turns that keep lures where they are wanted. Import `plan.propose`.

A proposal and never a promise: the person in charge looks out and steers. Not for navigation.
"""
