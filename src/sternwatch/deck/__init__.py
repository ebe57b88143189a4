"""The room of the deck's page: the helm's picture on phones at the stern. Read only; imported only on request."""
