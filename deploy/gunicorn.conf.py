"""How gunicorn serves a bench: `gunicorn -c deploy/gunicorn.conf.py webapp.wsgi:app`.

Two workers of four threads are plenty for a roastery's tablets: SQLite takes one writer at a time, and a page is
a few milliseconds of Python. Each request opens its own database connection, after the fork.
"""

import gc
import os
import sys
import threading

bind = f"{os.environ.get('HOST', '127.0.0.1')}:{os.environ.get('PORT', '8000')}"
worker_class = "gthread"
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
threads = 4
# Never load the app before the fork: an SQLite connection must not be carried across one.
preload_app = False
# A strip asks every few seconds: keep its connection open between two questions.
keepalive = 20
timeout = 30
graceful_timeout = 10
# A worker is replaced now and then, not both at once.
max_requests = 20_000
max_requests_jitter = 4_000
# Heartbeat files in memory, so that a slow disk is not taken for a hanging worker.
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None
# gunicorn 25.1 brought a control socket in the home directory. Nothing here uses it.
control_socket_disable = True
loglevel = os.environ.get("DRUMSIDE_LOG", "info")
accesslog = None
errorlog = "-"

# A server that was killed may have workers which are not gone yet.
HELD_S = 15


def on_starting(server) -> None:
    """Two servers on one file would each believe to be the only one: the second does not start."""
    from webapp.store import serving

    path = os.environ.get("DRUMSIDE_DATABASE")
    if not path:
        return  # the app itself says what is missing
    try:
        server.bench_held = serving.hold(path, HELD_S)
    except (serving.InUse, OSError) as problem:
        server.log.error("Not started: %s", problem)
        sys.exit(3)


# Seconds after a worker's start: first come the tablets with what they have kept while there was no server. One worker
# after the other, so that there is always one with its hands free.
DRAWING_AFTER, DRAWING_APART = 20, 10


def post_worker_init(worker) -> None:
    """Start what draws trends before anybody asks for one: it takes some seconds of the processor."""
    gc.freeze()
    # A request makes some thousand objects and lets nearly all of them go by itself: looking for rubbish after every
    # seven hundred is a twentieth of its time.
    gc.set_threshold(10_000)
    later = threading.Timer(DRAWING_AFTER + DRAWING_APART * (worker.age % workers), start_drawing)
    later.name, later.daemon = "drawing", True
    later.start()


def start_drawing() -> None:
    """The libraries stay for the worker's life: what looks for rubbish need not go through them at every turn, which
    would hold up every request meanwhile."""
    from webapp.trends.chart import warm_up

    warm_up()
    gc.collect()
    gc.freeze()
