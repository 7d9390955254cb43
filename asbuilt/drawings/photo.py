"""Photos made fit for pages: upright, no larger than a page needs, and nothing in them but pixels.

A phone writes into a photo where it was taken, when, and by which device. None of that is kept:
the pixels alone are written anew, in sRGB, which is what a picture that says nothing is shown in.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import BinaryIO, Final

from PIL import Image, ImageCms, ImageOps
from PIL.ImageFile import ImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from asbuilt.drawings.picture import UnusablePictureError

MAX_BYTES: Final = 25 * 1024 * 1024
MAX_PIXELS: Final = 100_000_000  # a small file can unfold to more pixels than memory holds
MAX_SIDE: Final = 1600  # pixels of the longer side, as published
MAX_THUMBNAIL_SIDE: Final = 480
JPEG_QUALITY: Final = 82
#: By how a file begins, what reads it: nobody else's reader is let near foreign bytes.
_DECODERS: Final[tuple[tuple[bytes, Callable[[BinaryIO], ImageFile]], ...]] = (
    (b"\xff\xd8\xff", JpegImageFile),
    (b"\x89PNG\r\n\x1a\n", PngImageFile),
)
_SCALABLE_MODES: Final = ("L", "RGB", "RGBA", "CMYK", "YCbCr")  # others (a palette) don't scale


@dataclass(frozen=True, slots=True)
class PublishedPhoto:
    """A photo as published: JPEG, in two sizes; width and height are those of the small one."""

    data: bytes
    thumbnail: bytes
    width: int
    height: int


def check_photo(photo: BinaryIO) -> None:
    """Raises UnfitPictureError where the head of a photo tells that it can't be shown. What is
    broken further on is found when it is made ready: that takes a hundred times as long."""
    with _decoding_errors():
        _open_photo(photo)


def prepare_photo(data: bytes) -> PublishedPhoto:
    """The photo in a JPEG or PNG, ready to be published; raises UnfitPictureError."""
    with _decoding_errors():
        large = _upright_pixels(_open_photo(io.BytesIO(data)))
    small = large.copy()
    small.thumbnail((MAX_THUMBNAIL_SIDE, MAX_THUMBNAIL_SIDE))
    return PublishedPhoto(_jpeg(large), _jpeg(small), *small.size)


@contextmanager
def _decoding_errors() -> Iterator[None]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what is broken in metadata
            yield
    except UnusablePictureError:
        raise
    except MemoryError as error:
        raise UnusablePictureError("it unfolds to more pixels than can be shown") from error
    except Exception as error:  # a decoder of foreign bytes may stumble in any way
        raise UnusablePictureError("it is broken") from error


def _open_photo(photo: BinaryIO) -> ImageFile:
    """The photo with its head read: no pixel is unfolded yet."""
    if photo.seek(0, io.SEEK_END) > MAX_BYTES:
        raise UnusablePictureError(f"it is larger than {MAX_BYTES // 1024 // 1024} MiB")
    photo.seek(0)
    start = photo.read(8)
    photo.seek(0)
    reader = next((reader for begin, reader in _DECODERS if start.startswith(begin)), None)
    if reader is None:
        raise UnusablePictureError("it is no JPEG or PNG")
    opened = reader(photo)
    width, height = opened.size
    if width * height > MAX_PIXELS:
        raise UnusablePictureError(f"{width} × {height} pixels can't be shown")
    return opened


def _upright_pixels(photo: ImageFile) -> Image.Image:
    """The photo scaled, upright, and on white where it is transparent: an image of its own, since
    what is carried along with the one that was read (a comment, say) would be written with it."""
    profile = photo.info.get("icc_profile")
    colours = photo if photo.mode in _SCALABLE_MODES else photo.convert("RGBA")
    colours.thumbnail((MAX_SIDE, MAX_SIDE))  # reads a large JPEG at a fraction of its size
    turned = ImageOps.exif_transpose(colours)
    upright = (_in_srgb(turned, profile) if profile else turned).convert("RGBA")
    plain = Image.new("RGB", upright.size, "white")
    plain.paste(upright, mask=upright)
    return plain


def _in_srgb(photo: Image.Image, profile: bytes) -> Image.Image:
    """Its colours as IEC 61966-2-1 has them. A profile that is broken or of another kind of
    colours than the picture's says nothing: the picture stays as it is."""
    mode = "RGBA" if photo.mode == "RGBA" else "RGB"
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        shown = ImageCms.profileToProfile(photo, own, _srgb(), outputMode=mode)
    except (ImageCms.PyCMSError, OSError, ValueError):
        return photo
    return shown or photo


@cache
def _srgb() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


def _jpeg(photo: Image.Image) -> bytes:
    written = io.BytesIO()
    photo.save(written, "JPEG", quality=JPEG_QUALITY)
    return written.getvalue()
