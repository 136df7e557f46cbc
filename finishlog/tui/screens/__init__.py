"""What screens share: the frame, a marked list, a pick list, undo, the dialogs."""
