"""Alembic's entry: runs the history on the engine it is handed."""

from alembic import context
from sqlalchemy import create_engine, text

from spanwalk.storage.tables import Base

attributes = context.config.attributes
engine = attributes.get("engine") or create_engine(attributes["url"])

ONE_AT_A_TIME = text("SELECT pg_advisory_xact_lock(5017)")  # any number, as long as it is always this one

with engine.connect() as connection:
    if connection.dialect.name == "postgresql":  # several servers may start in the same moment
        connection.execute(ONE_AT_A_TIME)
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
    )
    with context.begin_transaction():
        context.run_migrations()
    connection.commit()
