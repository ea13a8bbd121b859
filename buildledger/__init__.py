"""Project: settings, addresses, serving."""
