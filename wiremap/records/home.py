"""Where a user's own keys, calibrations and lots are kept."""

import os
from pathlib import Path


def home() -> Path:
    """Return the folder of the user's own things: WIREMAP_HOME, else the system's place for them; may not exist."""
    chosen = os.environ.get("WIREMAP_HOME")
    if chosen:
        return Path(chosen)
    import platformdirs

    return platformdirs.user_config_path("wiremap", appauthor=False)
