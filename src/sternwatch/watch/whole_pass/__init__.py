"""The room of the whole pass: legs and turns that keep lures where they are wanted. Import `plan.propose`.

A pass is a proposal and never a promise: the person in charge looks out and steers. Not for navigation.
"""
