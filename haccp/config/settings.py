"""The one settings module. Everything a deployer may change is an environment variable, listed in .env.example."""

import os
import secrets
from datetime import timedelta
from pathlib import Path

import dj_database_url
from celery.schedules import crontab
from django.core.exceptions import ImproperlyConfigured
from environs import Env

env = Env()
BASE_DIR = Path(__file__).resolve().parent.parent.parent
env.read_env(str(BASE_DIR / ".env"), recurse=False)

DATA_DIR = Path(env.str("DATA_DIR", str(BASE_DIR / "var")))
DEBUG = env.bool("DEBUG", False)


def _secret_key() -> str:
    """From the environment; where none is given, one made on first start and kept beside the database."""
    given = env.str("SECRET_KEY", "")
    if given:
        return given
    try:
        return _kept_secret_key(DATA_DIR / "secret_key")
    except OSError as error:
        raise ImproperlyConfigured(
            f"The folder {DATA_DIR} cannot be written to ({error.strerror}): set DATA_DIR to a folder that can, or "
            "change its permissions."
        ) from error


def _kept_secret_key(path: Path) -> str:
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(f".{os.getpid()}")
        fresh.touch(mode=0o600)
        fresh.write_text(secrets.token_urlsafe(50), encoding="utf-8")
        try:
            # A hard link fails when another process was first, so that all of them read the same key.
            os.link(fresh, path)
        except FileExistsError:
            pass
        finally:
            fresh.unlink()
    return path.read_text(encoding="utf-8")


SECRET_KEY = _secret_key()
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS: list[str] = env.list("CSRF_TRUSTED_ORIGINS", [])

INSTALLED_APPS = [
    "haccp.config",
    "haccp.keeping",
    "haccp.reports",
    "batches.recall",
    "batches.tracing",
    "batches.stock",
    "batches.release",
    "batches.ripening",
    "batches.making",
    "batches.intake",
    "batches.hygiene",
    "batches.laboratory",
    "haccp.training",
    "haccp.calibration",
    "haccp.charts",
    "haccp.notices",
    "haccp.deviations",
    "haccp.checks",
    "haccp.lots",
    "haccp.plan",
    "haccp.access",
    "haccp.premises",
    "haccp.ledger",
    "rest_framework",
    "drf_spectacular",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_static",
    "django_otp.plugins.otp_totp",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    # Outermost, so that redirects, static files and refusals of the others carry the policy as well.
    "haccp.config.content_security.ContentSecurityPolicyMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "haccp.access.sessions.IdleMiddleware",
    "haccp.premises.middleware.ScopeMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "haccp.config.urls"
WSGI_APPLICATION = "haccp.config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "haccp.config.context.site",
            ],
            "builtins": ["haccp.config.templatetags.show"],
        },
    }
]

# --- Database: SQLite unless DATABASE_URL says otherwise ---
DATABASES = {
    "default": dj_database_url.parse(
        env.str("DATABASE_URL", f"sqlite:///{DATA_DIR / 'curdward.sqlite3'}"),
        conn_max_age=env.int("DATABASE_CONN_MAX_AGE", 60),
        # A connection from before the database was restarted is replaced, not tried and failed with.
        conn_health_checks=True,
    )
}
USES_SQLITE = DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3"
if USES_SQLITE:
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    DATABASES["default"]["OPTIONS"] = {
        # Deferred transactions that read and then write fail under concurrency; immediate ones wait their turn.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        # FULL: a record answered with "saved" survives a power cut.
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
else:
    # A host that is gone says nothing: without these, a request waits for it for minutes.
    DATABASES["default"]["OPTIONS"] = {"connect_timeout": 10, "tcp_user_timeout": 30_000} | DATABASES["default"].get(
        "OPTIONS", {}
    )
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- People ---
AUTH_USER_MODEL = "premises.User"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
AUTHENTICATION_BACKENDS = ["axes.backends.AxesBackend", "django.contrib.auth.backends.ModelBackend"]
# Wrong passwords: five for one address from one place, then a pause.
LOCK_OUT_MINUTES = env.int("LOCK_OUT_MINUTES", 15)
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=LOCK_OUT_MINUTES)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_USERNAME_FORM_FIELD = "username"
AXES_USERNAME_CALLABLE = "haccp.access.views.sign_in.address_typed"
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_CALLABLE = "haccp.access.views.sign_in.locked_out"
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False
PASSWORD_RESET_TIMEOUT = 3600
LOGIN_URL = "premises:sign_in"
LOGIN_REDIRECT_URL = "checks:today"
LOGOUT_REDIRECT_URL = "premises:sign_in"
SESSION_COOKIE_AGE = env.int("SESSION_SECONDS", 12 * 3600)
SESSION_IDLE_SECONDS = env.int("SESSION_IDLE_SECONDS", 4 * 3600)

# --- The ledger's signed heads ---
LEDGER_KEY = env.str("LEDGER_KEY", "")
# --- The signature of papers: a PKCS#12 file; one is made in DATA_DIR where none is named ---
PAPER_KEYSTORE = env.str("PAPER_KEYSTORE", "")
PAPER_KEYSTORE_PASSWORD = env.str("PAPER_KEYSTORE_PASSWORD", "")
TIMESTAMP_URL = env.str("TIMESTAMP_URL", "")
TIMESTAMP_CERTIFICATES = env.str("TIMESTAMP_CERTIFICATES", "")
INVITATION_DAYS = env.int("INVITATION_DAYS", 7)

# --- Letters: none are sent unless a mail service is named ---
EMAIL_HOST = env.str("EMAIL_HOST", "")
EMAIL_PORT = env.int("EMAIL_PORT", 587)
EMAIL_HOST_USER = env.str("EMAIL_USER", "")
EMAIL_HOST_PASSWORD = env.str("EMAIL_PASSWORD", "")
EMAIL_USE_SSL = EMAIL_PORT == 465
EMAIL_USE_TLS = env.bool("EMAIL_TLS", True) and not EMAIL_USE_SSL
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = SERVER_EMAIL = env.str("EMAIL_FROM", "curdward@localhost")

SESSION_EXPIRE_AT_BROWSER_CLOSE = env.bool("SESSION_ENDS_WITH_BROWSER", False)

# --- Safety of the connection ---
HTTPS = env.bool("HTTPS", False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = env.int("HSTS_SECONDS", 31_536_000 if HTTPS else 0)
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", False) else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "haccp.config.errors.csrf_failure"

# --- Language and time: stored in UTC, shown in the premises' zone ---
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# What keeps the clock of the service's computers right, such as “NTP, ptbtime1.ptb.de”: said beside the times it saved.
TIME_SOURCE = env.str("TIME_SOURCE", "")

# --- Files ---
STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "haccp" / "static"]
STATIC_ROOT = Path(env.str("STATIC_ROOT", str(BASE_DIR / "staticfiles")))
MEDIA_ROOT = Path(env.str("FILES_DIR", str(DATA_DIR / "files")))
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
RECORDER_FILE_MAX_BYTES = env.int("RECORDER_FILE_MAX_BYTES", 32 * 1024 * 1024)
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_HANDLERS = [
    "haccp.premises.uploads.RefuseOversized",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

# --- Being told ---
# Where the site is reached, such as https://dairy.example: links in mails and calendars lead there.
SITE_URL = env.str("SITE_URL", "").rstrip("/")
# Web push (RFC 8292): a key pair of this site, made once by `manage.py make_push_keys`.
VAPID_PRIVATE_KEY = env.str("VAPID_PRIVATE_KEY", "")
VAPID_PUBLIC_KEY = env.str("VAPID_PUBLIC_KEY", "")
VAPID_CONTACT = env.str("VAPID_CONTACT", "")  # mailto: address of whoever looks after the site

# --- Background work ---
CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", "")
# Without a broker the schedule and the jobs run inside the web process (haccp.background).
EMBEDDED = not CELERY_BROKER_URL
# own: of this process alone (premises.attempts).
CACHES: dict[str, dict[str, str]] = {
    name: {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": name} for name in ("default", "own")
}
if CELERY_BROKER_URL.startswith("redis"):
    CACHES["default"] = {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CELERY_BROKER_URL}
CELERY_TASK_ALWAYS_EAGER = EMBEDDED
CELERY_TASK_EAGER_PROPAGATES = False
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_TRANSPORT_OPTIONS = {"visibility_timeout": 3600}
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "celerybeat-schedule")
SWEEP_SECONDS = env.float("SWEEP_SECONDS", 60.0)
CELERY_BEAT_SCHEDULE = {
    "sweep due checks": {"task": "checks.sweep", "schedule": SWEEP_SECONDS},
    "tell people": {"task": "notices.tell", "schedule": SWEEP_SECONDS},
    "take up unfinished visit packs": {"task": "reports.take_up_packs", "schedule": SWEEP_SECONDS},
    "take up unfinished exports": {"task": "keeping.take_up_exports", "schedule": SWEEP_SECONDS},
    "sign heads": {"task": "ledger.sign_heads", "schedule": env.float("SIGN_HEADS_SECONDS", 3600.0)},
    "forget answered requests": {"task": "premises.forget_requests", "schedule": crontab(hour=3, minute=17)},
}

# --- API ---
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "haccp.premises.api_access.DeviceTokenAuthentication",
        "haccp.premises.api_access.SignedInAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["haccp.premises.api_access.BelongsToPremises"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PAGINATION_CLASS": "haccp.premises.api_access.Pages",
    "DEFAULT_PARSER_CLASSES": ["haccp.premises.api_parsers.BoundedJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "EXCEPTION_HANDLER": "haccp.premises.api_errors.answer",
    "PAGE_SIZE": 50,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    "UNAUTHENTICATED_USER": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Curdward API",
    "DESCRIPTION": "Rounds, records, makes, recorder files, deviations and visit packs of a farmhouse dairy. "
    "Supports and does not replace the local regulator, local codes and the licensed process authority.",
    "VERSION": "1.0.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["haccp.premises.api_access.BelongsToPremises"],
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "haccp.premises.api_schema.declare_refusals",
    ],
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_NAME_OVERRIDES": {
        "MeasureKind": "haccp.plan.models.Measure.Kind",
        "EventKind": "haccp.lots.kinds.EventKind",
        "PlaceKind": "haccp.premises.models.Place.Kind",
        "InstrumentKind": "haccp.premises.models.Instrument.Kind",
        "StepKind": "haccp.deviations.models.CorrectiveStep.Kind",
        "TaskKind": "haccp.deviations.models.Task.Kind",
        "LotKind": "haccp.lots.models.Lot.Kind",
        "RecallKind": "batches.recall.models.Recall.Kind",
        "RecallMarkKind": "batches.recall.models.RecallMark.Kind",
        "FindingKind": "batches.intake.models.MilkFinding.Kind",
        "IngredientKind": "batches.intake.models.IngredientLot.Kind",
        "SampleTestKind": "batches.laboratory.models.SampleTest.Kind",
        "CareKind": "batches.ripening.models.CareKind",
        "LoggedQuantity": "batches.ripening.models.RoomLog.Quantity",
        "StageReadingWhat": "batches.making.models.StageReading.What",
        "StageMarkWhat": "batches.making.models.StageMark.What",
        "Ruling": "haccp.calibration.models.RULINGS",
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", "WARNING")},
}
