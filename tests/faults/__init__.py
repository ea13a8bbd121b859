"""The program killed, starved and put in the dark, while people use it.

``parent`` loads the program once and forks gunicorn off; ``people`` writes through the pages,
``book`` keeps what was acknowledged and what may be whole or absent, ``looks`` reads what is there.
In the suite ``KILLS`` and ``WRITES`` set how much; ``python -m tests.faults --kills 1000`` is the
long form. kill -9 leaves the page cache, so what a power cut needs (sync before the commit) is
tested in ``test_files``.
"""
