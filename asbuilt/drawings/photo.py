"""Photos made fit for pages: upright, no larger than a page needs, and nothing in them but pixels.

A phone writes into a photo where it was taken, when, and by which device. None of that is kept:
the pixels alone are written anew.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from PIL import Image, ImageOps
from PIL.ImageFile import ImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from asbuilt.drawings.picture import UnfitPictureError

MAX_BYTES: Final = 25 * 1024 * 1024
MAX_PIXELS: Final = 100_000_000  # a small file can unfold to more pixels than memory holds
LONGEST: Final = 1600  # pixels of the longer side, as published
LONGEST_SMALL: Final = 480
QUALITY: Final = 82
#: By how a file begins, what reads it: nobody else's reader is let near foreign bytes.
_READERS: Final[tuple[tuple[bytes, Callable[[io.BytesIO], ImageFile]], ...]] = (
    (b"\xff\xd8\xff", JpegImageFile),
    (b"\x89PNG\r\n\x1a\n", PngImageFile),
)
_SMOOTH: Final = ("L", "RGB", "RGBA", "CMYK", "YCbCr")  # others (a palette) don't scale


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo as published: JPEG, in two sizes; width and height are those of the small one."""

    data: bytes
    small: bytes
    width: int
    height: int


def shot_of(data: bytes) -> Shot:
    """The photo in a JPEG or PNG, ready to be published; raises UnfitPictureError."""
    if len(data) > MAX_BYTES:
        raise UnfitPictureError(f"it is larger than {MAX_BYTES // 1024 // 1024} MiB")
    reader = next((reader for start, reader in _READERS if data.startswith(start)), None)
    if reader is None:
        raise UnfitPictureError("it is no JPEG or PNG")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what is broken in metadata
            large = _pixels(reader(io.BytesIO(data)))
    except UnfitPictureError:
        raise
    except MemoryError as error:
        raise UnfitPictureError("it unfolds to more pixels than can be shown") from error
    except Exception as error:  # a decoder of foreign bytes may stumble in any way
        raise UnfitPictureError("it is broken") from error
    small = large.copy()
    small.thumbnail((LONGEST_SMALL, LONGEST_SMALL))
    return Shot(_jpeg(large), _jpeg(small), *small.size)


def _pixels(photo: ImageFile) -> Image.Image:
    """The photo scaled, upright, and on white where it is transparent: an image of its own, since
    what is carried along with the one that was read (a comment, say) would be written with it."""
    width, height = photo.size
    if width * height > MAX_PIXELS:
        raise UnfitPictureError(f"{width} × {height} pixels can't be shown")
    colours = photo if photo.mode in _SMOOTH else photo.convert("RGBA")
    colours.thumbnail((LONGEST, LONGEST))  # reads a large JPEG at a fraction of its size
    upright = ImageOps.exif_transpose(colours).convert("RGBA")
    plain = Image.new("RGB", upright.size, "white")
    plain.paste(upright, mask=upright)
    return plain


def _jpeg(photo: Image.Image) -> bytes:
    written = io.BytesIO()
    photo.save(written, "JPEG", quality=QUALITY)
    return written.getvalue()
