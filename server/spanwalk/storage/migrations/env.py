"""Alembic's entry: runs the history on the engine it is handed."""

from alembic import context
from sqlalchemy import create_engine

from spanwalk.storage.tables import Base

attributes = context.config.attributes
engine = attributes.get("engine") or create_engine(attributes["url"])

with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
    )
    with context.begin_transaction():
        context.run_migrations()
    connection.commit()
