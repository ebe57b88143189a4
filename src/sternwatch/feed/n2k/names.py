"""Who is at which address. A device keeps its NAME of 64 bits for life (ISO 11783-5); its address moves."""

from __future__ import annotations

_LAST_ADDRESS = 251  # 252 and 253 are set aside, 254 has none, 255 is everybody


class Names:
    """The claims heard so far, of one bus."""

    def __init__(self) -> None:
        self._at: dict[int, str] = {}

    def claim(self, address: int, name: str) -> None:
        """A device says that an address is its own; what it had before is nobody's."""
        for other, known in list(self._at.items()):
            if known == name and other != address:
                del self._at[other]
        if address <= _LAST_ADDRESS:
            self._at[address] = name

    def talker(self, address: int) -> str:
        """The NAME in 16 hexadecimal digits; while none was claimed, the address after an @."""
        return self._at.get(address, f"@{address}")
