"""The room of the SQLite file: schema, writing on one thread, trips, samples, what is kept aside."""
