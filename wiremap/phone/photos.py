"""What may be called a photo: one JPEG picture, whole, of a size that a phone draws."""

import io
import warnings

from wiremap.errors import UsageError

BEGIN, JPEG_END = b"\xff\xd8\xff", b"\xff\xd9"
MOST_PIXELS = 40_000_000
HINT = "Take the photo with the phone's camera, from this page."


def check_photo(content: bytes) -> None:
    """Refuse what is no JPEG that can be drawn; UsageError says why. It is decoded here, and served to nobody."""
    if not content.startswith(BEGIN) or not content.endswith(JPEG_END):
        raise UsageError("the photo is no whole JPEG", HINT)
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(content), formats=["JPEG"]) as picture:
                width, height = picture.size
                if width * height > MOST_PIXELS:
                    raise UsageError(f"the photo has {width} x {height} pixels", "Take a smaller one.")
                picture.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        if isinstance(error, UsageError):
            raise
        raise UsageError("the photo cannot be drawn", HINT) from error
