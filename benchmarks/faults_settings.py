"""The service's own settings, with mails as files, so that they can be counted."""

import os

from haccp.config.settings import *  # noqa: F403

EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
EMAIL_FILE_PATH = os.environ["FAULTS_MAILS"]
