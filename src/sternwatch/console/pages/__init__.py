"""The room of the pages of a session: outlook, sensors, what produces, how sure, fit, help and others."""
