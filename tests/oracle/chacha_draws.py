"""Draws from the ChaCha20 stream, worked out from the cipher's definition alone.

Makes chacha_draws.json: for a few seeds and streams
    below   the first draws below 10, 633 and 3000000000, by the rule of src/tasting/draw.rs: words
            until one is below the largest multiple of n that 2^32 holds, then the remainder
    order   the numbers 0..11 shuffled from the last place down
The seeds are 32 bytes, given in hexadecimal; the stream number takes the place of the nonce in the
original layout (Bernstein D. J., ChaCha, a variant of Salsa20, 2008: 64-bit counter, 64-bit nonce).
The block function is checked here against the keystream of RFC 8439, appendix A.1, test vector 1.

Plain Python 3.11, no package. Run again: python chacha_draws.py
"""

import hashlib
import json
import os

MASK = 0xFFFFFFFF


def quarter(s, a, b, c, d):
    for x, y, z, by in ((a, b, d, 16), (c, d, b, 12), (a, b, d, 8), (c, d, b, 7)):
        s[x] = (s[x] + s[y]) & MASK
        s[z] ^= s[x]
        s[z] = ((s[z] << by) | (s[z] >> (32 - by))) & MASK


def block(key, counter, stream):
    start = [0x61707865, 0x3320646E, 0x79622D32, 0x6B206574]
    start += [int.from_bytes(key[i:i + 4], "little") for i in range(0, 32, 4)]
    start += [counter & MASK, counter >> 32, stream & MASK, stream >> 32]
    s = list(start)
    for _ in range(10):
        for i in range(4):
            quarter(s, i, 4 + i, 8 + i, 12 + i)
        for i in range(4):
            quarter(s, i, 4 + (i + 1) % 4, 8 + (i + 2) % 4, 12 + (i + 3) % 4)
    return [(x + y) & MASK for x, y in zip(s, start)]


def words(key, stream):
    counter = 0
    while True:
        yield from block(key, counter, stream)
        counter += 1


def below(source, n):
    usable = 2**32 - 2**32 % n
    while True:
        word = next(source)
        if word < usable:
            return word % n


def shuffled(source, n):
    items = list(range(n))
    for last in range(n - 1, 0, -1):
        other = below(source, last + 1)
        items[last], items[other] = items[other], items[last]
    return items


def main():
    known = b"".join(w.to_bytes(4, "little") for w in block(bytes(32), 0, 0))
    assert known.hex().startswith("76b8e0ada0f13d90405d6ae55386bd28bdd219b8a08ded1aa836efcc8b770dc7")
    keys = [bytes(32), bytes(range(32)), hashlib.sha256(b"waterflight seed 1\ndemo").digest()]
    cases = []
    for key in keys:
        for stream in range(1, 7):
            cases.append({
                "seed": key.hex(), "stream": stream,
                "below": {str(n): [below(s, n) for s in [words(key, stream)] for _ in range(20)]
                          for n in (10, 633, 3_000_000_000)},
                "order": shuffled(words(key, stream), 12),
            })
    path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "chacha_draws.json")
    with open(path, "w") as out:
        out.write("[\n" + ",\n".join(json.dumps(case) for case in cases) + "\n]\n")


if __name__ == "__main__":
    main()
