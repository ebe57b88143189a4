"""The one error of this room that a user sees: a sentence that says what is wrong, where, and what is accepted."""


class FeedError(ValueError):
    """A source or recording cannot be used; the message says why in one sentence."""
