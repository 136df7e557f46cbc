"""Forms: fields with their echo, the form of a screen, sheets on paper, a reason asked."""
