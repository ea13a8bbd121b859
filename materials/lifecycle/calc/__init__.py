"""The arithmetic of comparing lifetime cost, and of cost indexes."""
