"""What a person may type, declared once; forms, commands and imports read it from here."""
