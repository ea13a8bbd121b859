"""Tables: what a list shows, how it sorts, and the plain value behind each shown one."""
