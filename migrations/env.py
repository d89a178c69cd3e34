"""How does a migration run?

On the connection that `models.database.migrate` opened, so that all of it is
one transaction of the program's own kind. Every run ends by putting the
triggers back: rebuilding a table on SQLite drops them without a word.
"""

from alembic import context
from sqlmodel import SQLModel

import models.tables
from migrations.triggers import install_triggers

assert models.tables.__all__, "importing the package declares every table"
connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
    transaction_per_migration=False,
)
context.run_migrations()
install_triggers(connection)
