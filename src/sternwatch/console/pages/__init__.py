"""The room of a session's pages: outlook, sensors, what produces, how sure, fit, help and others."""
