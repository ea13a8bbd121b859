"""Pages: get the build through access, read a form or a query, call a service, redirect."""
