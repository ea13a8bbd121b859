"""The arithmetic of estimates."""
