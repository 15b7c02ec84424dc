"""A text as a code to scan from a screen."""

from __future__ import annotations

import qrcode


def qr_rows(text: str) -> list[str]:
    """A QR code as rows of 0 and 1, without its quiet zone.

    >>> len(qr_rows("x")), set("".join(qr_rows("x"))) == {"0", "1"}
    (21, True)
    """
    symbol = qrcode.QRCode(border=0)
    symbol.add_data(text)
    symbol.make()
    return ["".join("1" if dark else "0" for dark in row) for row in symbol.get_matrix()]
