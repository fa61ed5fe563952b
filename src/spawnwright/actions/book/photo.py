"""Make a photo fit to keep: looked at before it is decoded, turned upright, small, and no place."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from spawnwright.errors import Unusable

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 8_000_000
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 1600
QUALITY = 82
_FORMATS = ("JPEG", "PNG", "WEBP")
_LARGEST_PROFILE = 65_536


@dataclass(frozen=True)
class Prepared:
    """A photo as it is kept: JPEG bytes and how large it is."""

    data: bytes
    width: int
    height: int
    media_type: str = "image/jpeg"


def prepared(data: bytes) -> Prepared:
    """A photo turned upright, made no larger than 1600 pixels a side, without what else it told.

    Place, time, camera and every other tag are gone; only the color profile stays, without which
    colors would be others. Size is judged by the header, so that nothing large is ever unpacked.

    Raises
    ------
    Unusable
        If it is no JPEG, PNG or WebP, is damaged, or is larger than 8 MB or 40 megapixels.
    """
    if len(data) > MOST_BYTES:
        raise Unusable(
            f"The photo has {len(data) / 1e6:.1f} MB; up to {MOST_BYTES / 1e6:.0f} MB are taken. "
            "Take it at a lower resolution."
        )
    from PIL import Image, UnidentifiedImageError

    too_large = (Image.DecompressionBombError, Image.DecompressionBombWarning)
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as opened:
            _check_pixels(opened.width, opened.height)
            return _encoded(_upright(opened), _profile_of(opened))
    except UnidentifiedImageError as reason:
        raise Unusable("This is no photo that can be read: JPEG, PNG and WebP are.") from reason
    except too_large as reason:
        raise Unusable(_too_many_pixels()) from reason
    except (OSError, SyntaxError, ValueError, EOFError) as reason:
        raise Unusable(f"The photo is damaged and cannot be read: {reason}.") from reason


def _check_pixels(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise Unusable(_too_many_pixels(f" ({width} by {height} pixels)"))


def _too_many_pixels(size: str = "") -> str:
    return (
        f"The photo{size} is larger than {MOST_PIXELS / 1e6:.0f} megapixels; take it at a lower "
        "resolution."
    )


def _upright(opened: Image) -> Image:
    """Scaled down while it is unpacked, and turned as its tags say."""
    from PIL import Image, ImageOps

    opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    if "A" in upright.getbands() or "transparency" in upright.info:
        clear = upright.convert("RGBA")
        paper = Image.new("RGB", clear.size, "white")
        paper.paste(clear, mask=clear.getchannel("A"))
        return paper
    return upright.convert("RGB")


def _profile_of(opened: Image) -> bytes | None:
    profile: Any = opened.info.get("icc_profile")
    is_good = isinstance(profile, bytes) and len(profile) <= _LARGEST_PROFILE
    return profile if is_good and opened.mode == "RGB" else None


def _encoded(upright: Image, profile: bytes | None) -> Prepared:
    from PIL import Image

    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    file = io.BytesIO()
    bare.save(file, "JPEG", quality=QUALITY, optimize=True, icc_profile=profile)
    return Prepared(file.getvalue(), bare.width, bare.height)
