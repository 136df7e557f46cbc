"""How things look: text, ink, colors of the two themes, swatches, words of the screens."""
