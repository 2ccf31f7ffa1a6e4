"""How the tables came to be: one step a released form, run by alembic inside one transaction."""
