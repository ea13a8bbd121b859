"""How gunicorn serves: ``python -m gunicorn -c python:buildledger.serving buildledger.wsgi``.

What is given on its command line goes before what stands here.
"""

import os

bind = "127.0.0.1:8000"
workers = 2
threads = 4
# A build of tens of thousands of lines is brought in within one request.
timeout = 120
graceful_timeout = 30
# A slow disk must not make a worker look dead.
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None
# Nothing commands it but signals; its socket would want a home folder to write in.
control_socket_disable = True
# Its own lines in the form of all others; the app writes the line for each request.
logconfig_dict = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "lines": {
            "()": "buildledger.logs.PlainLines"
            if os.environ.get("LOG_FORMAT") == "text"
            else "buildledger.logs.JsonLines"
        }
    },
    "handlers": {"lines": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"handlers": ["lines"], "level": "WARNING"},
    "loggers": {
        "gunicorn.error": {"level": "INFO", "handlers": ["lines"], "propagate": False},
        "gunicorn.access": {"level": "WARNING", "handlers": ["lines"], "propagate": False},
    },
}
