"""The first release must load for ever.

``first_release.*`` were written by it and are never written again. The newest version must load
both, lose no row, and give the golden figures. ``0001_initial`` has its digest here. Every
migration can be taken back. None makes tables by SQL of its own, because a restore makes them as
the migrations describe them.
"""
