"""The live engine: readings and actions in, pictures and outlooks out. `core.engine.Watch` is its heart.

Each room imports only those that stand before it here: picture, boat, chains, bottom, memory, alerts, core, forecast,
outlook and planner, sessions. A step of the watch goes the same way.
"""
