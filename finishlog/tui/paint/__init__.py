"""How things look: safe text, ink, the two themes, swatches, small words."""
