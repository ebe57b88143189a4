"""Which device has which address. A device keeps its NAME of 64 bits for life (ISO 11783-5), not its address."""

from __future__ import annotations

_LAST_ADDRESS = 251  # 252 and 253 are reserved, 254 means no address, 255 everybody


class Names:
    """The addresses claimed so far on one bus."""

    def __init__(self) -> None:
        self._at: dict[int, str] = {}

    def claim(self, address: int, name: str) -> None:
        """Give a device the address that it claims. Its former address becomes free."""
        for other, known in list(self._at.items()):
            if known == name and other != address:
                del self._at[other]
        if address <= _LAST_ADDRESS:
            self._at[address] = name

    def talker(self, address: int) -> str:
        """The NAME in 16 hexadecimal digits; before any claim, @ and the address."""
        return self._at.get(address, f"@{address}")
