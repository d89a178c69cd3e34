"""Which eight characters stand on the label of a work, for good?

Seven characters of a base-32 alphabet without I, L, O and U, and a check
character. The code outlives numbers, addresses and databases. It is read
leniently (small letters, O for 0, I and L for 1); a single wrong character, or
two neighbours swapped, is noticed.
"""

from models.errors import BadValue

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
RANDOM_BYTES = 5
# x^5 + x^2 + 1: the smallest polynomial that makes the 32 letters a field, in which each place of
# the code has a weight of its own, so that no single slip and no swap can cancel out.
_FIELD = 0b100101
_LENIENT = str.maketrans({"O": "0", "I": "1", "L": "1", "-": "", " ": ""})


def make_code(random: bytes) -> str:
    """Return the code of `RANDOM_BYTES` random bytes."""
    number = int.from_bytes(random[:RANDOM_BYTES], "big")
    letters = [ALPHABET[(number >> (5 * place)) & 31] for place in range(LENGTH - 1)]
    code = "".join(letters)
    return code + _check(code)


def _check(code: str) -> str:
    total = 0
    for letter in code:
        total = (total ^ ALPHABET.index(letter)) << 1
        total ^= _FIELD if total > 31 else 0
    return ALPHABET[total]


def read_code(text: str) -> str:
    """Return the code as it is stored. Raises BadValue if its check character is wrong."""
    code = text.upper().translate(_LENIENT)
    is_whole = len(code) == LENGTH and all(letter in ALPHABET for letter in code)
    if not is_whole or _check(code[:-1]) != code[-1]:
        raise BadValue(f"{text!r} is not the code on a label: it has 8 characters; read it again.")
    return code
