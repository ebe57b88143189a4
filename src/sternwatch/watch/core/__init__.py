"""The room of the engine: readings and actions in, pictures out. Import `engine.Watch`."""
