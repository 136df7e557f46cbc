"""The trade's arithmetic, pure: pour, stages, sealing, upkeep, shelf."""
