"""Make the app: the one place where its parts meet."""

from __future__ import annotations

from importlib import import_module
from importlib.metadata import version

import flask_smorest
from flask import Flask

from spanwalk import records
from spanwalk.config import PHOTO_BYTES_MOST, Settings
from spanwalk.storage.database import bind, engine_options
from spanwalk.storage.photos import open_photo_store
from spanwalk.telemetry.counting import begin_counting
from spanwalk.telemetry.request_context import hide_always
from spanwalk.web import BLUEPRINTS, pages
from spanwalk.web.request import auditing, auth, errors, headers, limits, sliding, watching
from spanwalk.web.request.contract import one_of_the_kinds


def create_app(settings: Settings) -> Flask:
    """Make the app. It connects to nothing yet.

    Parameters
    ----------
    settings : Settings
        What the environment says.
    """
    app = Flask("spanwalk", static_folder=None)
    app.config.update(
        SQLALCHEMY_DATABASE_URI=settings.database_url,
        SQLALCHEMY_ENGINE_OPTIONS=engine_options(settings.database_url, settings.busy_timeout_s),
        MAX_CONTENT_LENGTH=PHOTO_BYTES_MOST + limits.SLACK_BYTES,
        API_TITLE="Spanwalk",
        API_VERSION=version("spanwalk"),
        OPENAPI_VERSION="3.1.0",
    )
    app.extensions["spanwalk"] = settings
    app.extensions["spanwalk-photos"] = open_photo_store(settings.photo_url, settings.extra)
    _keep_figures(settings)
    bind(app)
    watching.register(app)
    errors.register(app)
    auth.register(app)
    sliding.register(app)
    limits.register(app)
    auditing.register(app)
    _register_api(app)
    headers.register(app, pages.register(app))
    return app


def _keep_figures(settings: Settings) -> None:
    """Keep secrets among the settings out of the logs, and count where that is asked for."""
    hide_always(settings.metrics_token, settings.extra.get("SPANWALK_S3_SECRET"), settings.demo_password)
    if settings.metrics_token is not None:
        begin_counting()


def _register_api(app: Flask) -> None:
    api = errors.ProblemApi(app)
    api.ma_plugin.converter.add_attribute_function(one_of_the_kinds)
    api.spec.components.security_scheme("session", {"type": "apiKey", "in": "cookie", "name": auth.COOKIE})
    for name, schema in records.openapi_components().items():
        api.spec.components.schema(name, schema)
    for name in BLUEPRINTS:
        bp = import_module(f"spanwalk.web.{name}").bp
        if isinstance(bp, flask_smorest.Blueprint):
            api.register_blueprint(bp)
        else:
            app.register_blueprint(bp)
    app.extensions["spanwalk-openapi"] = api
