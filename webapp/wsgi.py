"""What gunicorn serves: `gunicorn -c deploy/gunicorn.conf.py webapp.wsgi:app`."""

from webapp import create_app
from webapp.assemble import check_schema

app = create_app()
check_schema(app)
