"""The live engine: readings and actions in, pictures and outlooks out. `core.engine.Watch` is its heart."""
