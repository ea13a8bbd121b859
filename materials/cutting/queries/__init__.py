"""Reading cutting plans, what a new one begins with, and what taking one does."""
