"""User input, declared once for forms, commands and imports."""
