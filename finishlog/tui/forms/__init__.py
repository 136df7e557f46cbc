"""Forms: fields and their echo, form screens, sheets on paper, a reason."""
