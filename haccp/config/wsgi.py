"""What a web server loads. Starts the embedded schedule where no broker is configured."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")

application = get_wsgi_application()

from haccp.background import embedded  # noqa: E402  (needs the apps to be loaded)

embedded.start_if_embedded()
