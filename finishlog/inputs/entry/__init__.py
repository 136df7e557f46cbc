"""Everything that can be logged, declared once: entries, details, materials, shelf moves."""
