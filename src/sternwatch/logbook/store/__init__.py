"""The room of the SQLite file: schema, writing on one thread, trips, samples, the journal beside it."""
