"""Where things lie on this machine. Folders are named here, not made."""

from __future__ import annotations

from pathlib import Path

APP = "finishlog"


def data_folder() -> Path:
    """The user's data folder of this program."""
    from platformdirs import user_data_path

    return user_data_path(APP, appauthor=False)


def default_log() -> Path:
    """The log that is used where none is named."""
    return data_folder() / "log.finishlog"


def cache_folder() -> Path:
    """What can be made again at any time: small pictures of photos."""
    from platformdirs import user_cache_path

    return user_cache_path(APP, appauthor=False)


def settings_file() -> Path:
    """The machine's own settings (theme, last log); the shop's stand in the log."""
    from platformdirs import user_config_path

    return user_config_path(APP, appauthor=False) / "settings.toml"


def state_folder() -> Path:
    """What this machine remembers of its logs: how far each was written, how far a check came."""
    from platformdirs import user_state_path

    return user_state_path(APP, appauthor=False)
