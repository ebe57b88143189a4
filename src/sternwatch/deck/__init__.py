"""The deck's page: the helm's picture on phones at the stern. Read only, and imported only when it is asked for."""
