"""The room of commands about gear: depth, check, table, plan, forecast, fit, setting up."""
