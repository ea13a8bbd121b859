"""One build whose every report figure is worked out by hand, in ``worked``."""
