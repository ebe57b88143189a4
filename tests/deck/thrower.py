"""Malformed requests by the thousand, thrown by a process of its own: what the console does then is its own load.

Run as ``thrower.py PORT TOKEN COUNT SEED``; it writes how many of each status came back, 0 where none did.
"""

from __future__ import annotations

import asyncio
import json
import random
import sys
from collections import Counter

AT_ONCE = 8
WAITS_S = 2.0
NEVER_COMES_S = 0.02  # how long a request whose end never comes is held open
BODY = b'{"kind":"hit","rod":"3","id":"x","time":"2026-08-20T01:00:00Z"}'


def request(path: str, host: str, method: str = "GET", **headers: str) -> bytes:
    lines = [f"{method} {path} HTTP/1.1", f"Host: {host}"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return ("\r\n".join(lines) + "\r\n\r\n").encode()


def malformed(random_: random.Random, token: str, host: str) -> bytes:
    """One request that is wrong somewhere: a valid one broken, or noise; sometimes with words of actions in it."""
    page = f"/{token}/"
    good = request(page + random_.choice(["", "news", "views"]), host)
    match random_.randrange(10):
        case 0:
            return random_.randbytes(random_.randrange(1, 300))
        case 1:
            at = random_.randrange(len(good))
            return good[:at] + random_.randbytes(random_.randrange(1, 8)) + good[at:]
        case 2:
            return good[: random_.randrange(4)] + b"\r\n\r\n"
        case 3:
            verb = random_.choice(["POST", "PUT", "PATCH", "DELETE", "CONNECT", "hit", "GET"])
            return request(page + "news", host, verb, Content_Length=str(len(BODY))) + BODY
        case 4:
            return request("/" + "../" * random_.randrange(1, 9) + "etc/passwd", host)
        case 5:
            return request(page, f"boat{random_.randrange(99)}.example")
        case 6:
            return request(f"{page}rod/{random_.randrange(10)}/hit?length=9", host, x=random_.randbytes(40).hex())
        case 7:
            sized = b"%x\r\n%s\r\n0\r\n\r\n" % (len(BODY), BODY)
            return request(page, host, random_.choice(["GET", "POST"]), Transfer_Encoding="chunked") + sized
        case 8:
            return good[: random_.randrange(1, len(good) - 2)]
        case _:
            return b"GET " + b"/" * random_.randrange(1, 9000) + b" HTTP/1.1\r\n" * random_.randrange(1, 40) + b"\r\n"


async def one(port: int, thrown: bytes) -> int:
    """The status that came back; 0 for none. A stream of news is left as soon as it begins."""
    status, writer = 0, None
    try:
        async with asyncio.timeout(WAITS_S):
            reader, writer = await asyncio.open_connection("127.0.0.1", port)
            writer.write(thrown)
            if b"\r\n\r\n" not in thrown:
                await asyncio.sleep(NEVER_COMES_S)
            writer.write_eof()
            head = await reader.read(64)
            status = int(head.split()[1]) if head.startswith(b"HTTP/1.1 ") else 0
    except (OSError, TimeoutError):
        status = 0
    if writer is not None:
        writer.transport.abort()
    return status


async def throw(port: int, token: str, count: int, seed: int) -> Counter[int]:
    """``count`` of them, some at once."""
    random_, statuses = random.Random(seed), Counter[int]()
    left = iter(range(count))

    async def hand() -> None:
        for _ in left:
            statuses[await one(port, malformed(random_, token, f"127.0.0.1:{port}"))] += 1

    await asyncio.gather(*(hand() for _ in range(AT_ONCE)))
    return statuses


if __name__ == "__main__":
    port, token, count, seed = sys.argv[1:]
    print(json.dumps(asyncio.run(throw(int(port), token, int(count), int(seed)))))
