"""The Celery application; tasks live in each room's tasks.py."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")

app = Celery("curdward")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
