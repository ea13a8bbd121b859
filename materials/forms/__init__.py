"""Forms: they read what people type and say in plain sentences what to fix."""
