"""The one error of this room that a user meets: a sentence that says what, where, and what would be accepted."""


class FeedError(ValueError):
    """A source or recording that cannot be used, in one sentence."""
