"""Settings of the register. Everything a practice may want to change is read from the environment, typed, at the start."""

from pathlib import Path

from csp.constants import NONE, SELF

from clinic import env
from clinic.worker_scope import worker_scope

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.text("MILLROOM_VAR", str(BASE_DIR / "var")))

DEBUG = env.yes("MILLROOM_DEBUG", default=False)
SECRET_KEY = env.secret("MILLROOM_SECRET", VAR_DIR / "secret")
ALLOWED_HOSTS: list[str] = env.words("MILLROOM_HOSTS", "*" if DEBUG else "127.0.0.1,localhost,[::1]")
CSRF_TRUSTED_ORIGINS = env.words("MILLROOM_ORIGINS")

INSTALLED_APPS = [
    "clinic",
    "training",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "crispy_forms",
    "csp",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "clinic.compressed.CompressesText",
    "csp.middleware.CSPMiddleware",
    "clinic.middleware.CanBeRead",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "training.middleware.AsksOnceWhatWaits",
    "clinic.middleware.CannotWrite",
    "clinic.middleware.WhoAsks",
    "clinic.answers.AnswersScripts",
]
ROOT_URLCONF = "clinic.urls"
WSGI_APPLICATION = "clinic.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "OPTIONS": {
            "loaders": [("django.template.loaders.cached.Loader", ["clinic.template_loader.Loader"])],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "clinic.context.who_asks",
            ],
            "builtins": ["clinic.templatetags.register"],
        },
    }
]
CRISPY_ALLOWED_TEMPLATE_PACKS = ["practice"]
CRISPY_TEMPLATE_PACK = "practice"

DATABASES = {"default": env.database("DATABASE_URL", VAR_DIR / "register.sqlite3")}
# Columns carry their meaning in the database where it can hold comments; SQLite cannot.
# Whether a practice's name goes onto the list that browsers ship (W021) is the practice's to say: nobody gets off it soon.
SILENCED_SYSTEM_CHECKS = ["fields.W163", "security.W021"]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "clinic.Account"
AUTHENTICATION_BACKENDS = ["clinic.accounts.AtWork"]
LOGIN_URL = "clinic:sign_in"
LOGIN_REDIRECT_URL = "clinic:home"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
# NIST SP 800-63B-4 3.1.1.2: fifteen characters, a block list, no rules of composition, no forced change (rows)
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "clinic.accounts.NotOneWordTwice"},
]
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000  # a table of 250 lines is one form
SIGN_IN_TRIES = env.whole("MILLROOM_SIGN_IN_TRIES", 10, least=3)

IDLE_LOCK_SECONDS = env.whole("MILLROOM_IDLE_LOCK", 300, least=60)
SESSION_ENGINE = "clinic.session_store"
SESSION_COOKIE_AGE = env.whole("MILLROOM_SESSION_SECONDS", 12 * 3600, least=600)
SESSION_COOKIE_HTTPONLY = True
HTTPS = env.yes("MILLROOM_HTTPS", default=False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_NAME = "__Host-register" if HTTPS else "register"
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
# The register itself speaks plain HTTP: where it is HTTPS, a proxy in front ends it and says so.
BEHIND_PROXY = env.yes("MILLROOM_BEHIND_PROXY", default=HTTPS)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.text("MILLROOM_TIME_ZONE", "UTC")
USE_TZ = True
USE_I18N = True
# One way of writing a day, everywhere: "25 Nov 2026". 03/04 is not evidence.
FORMAT_MODULE_PATH = ["clinic.formats"]

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # whitenoise looks there at the start
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "clinic.staticfonts.FontFinder",
]
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "clinic.statics.HashedWhereCollected"},
}
WHITENOISE_ADD_HEADERS_FUNCTION = worker_scope
LIBRARY_DIR = BASE_DIR / "fixtures" / "library"
DEMO_DIR = BASE_DIR / "fixtures" / "demo"
DOCUMENTS_DIR = VAR_DIR / "documents"
# Heads of the log that lie outside the database, and the key that signs them: see clinic/checkpoints.py.
CHECKPOINT_KEY = Path(env.text("MILLROOM_CHECKPOINT_KEY", str(VAR_DIR / "checkpoint-key.pem")))
CHECKPOINTS_DIR = VAR_DIR / "checkpoints"
CHECKPOINT_PLACES = [Path(place) for place in env.words("MILLROOM_CHECKPOINT_PLACES")]
# The practice's own key, with which papers are signed when they are handed over: see training/paper_key.py.
PAPER_KEY = Path(env.text("MILLROOM_PAPER_KEY")) if env.text("MILLROOM_PAPER_KEY") else None
PAPER_KEY_PASSPHRASE = (
    Path(env.text("MILLROOM_PAPER_KEY_PASSPHRASE")) if env.text("MILLROOM_PAPER_KEY_PASSPHRASE") else None
)
# Copies of the register: see clinic/keeping/.
BACKUP_DIR = Path(env.text("MILLROOM_BACKUP_DIR")) if env.text("MILLROOM_BACKUP_DIR") else None
BACKUP_FOR = env.words("MILLROOM_BACKUP_FOR")
PG_TOOLS = env.text("MILLROOM_PG_TOOLS")

EMAIL_HOST = env.text("MILLROOM_MAIL_HOST")
EMAIL_PORT = env.whole("MILLROOM_MAIL_PORT", 25, least=1)
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
DEFAULT_FROM_EMAIL = env.text("MILLROOM_MAIL_FROM", "register@localhost")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.text("MILLROOM_LOG", "WARNING")},
    # a page that refuses has answered; only what broke is worth its whole traceback
    "loggers": {"django.request": {"level": "ERROR"}},
}
