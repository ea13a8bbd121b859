"""The first release must load for ever.

``first_release.*`` were written by it and are never written again. The newest version must load
both, lose no row, and give the golden figures. ``0001_initial`` has its digest here. Every
migration can be taken back, because a restore first goes back to the shape a backup had.
"""
