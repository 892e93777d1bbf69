"""Packages that somebody changed, in every way that a file can be, seeded.

A mutant is a ZIP in the very form of packages, so that nothing but the change gives it away: checksums
of entries and the directory are made right again, signatures are not, since their key is not at hand.
"""

import base64
import hashlib
import struct
import subprocess
import tempfile
import zipfile
import zlib
from pathlib import Path

ARCHIVE_SIGNATURE = "signature/archive.sig"
LISTS = ("manifest-sha256.txt", "tagmanifest-sha256.txt")
TAG_FILES = ("HOW-TO-VERIFY.txt", "bag-info.txt", "bagit.txt")
KEY = "signature/signer.pem"
LIST_SIGNATURE = "signature/tagmanifest-sha256.sig"


def read(package):
    """Entries of a package in their order: path in the bag, and content."""
    with zipfile.ZipFile(package) as archive:
        names = [entry.filename for entry in archive.infolist()]
        top = names[0].split("/", 1)[0]
        return top, [(name.split("/", 1)[1], archive.read(name)) for name in names]


def written(top, entries):
    """A ZIP of entries that are stored as they are, in the form of packages."""
    body, directory = b"", b""
    for path, data in entries:
        name = f"{top}/{path}".encode()
        crc, size = zlib.crc32(data), len(data)
        common = struct.pack("<HHHHHIIIHH", 20, 0, 0, 0, 0x21, crc, size, size, len(name), 0)
        directory += b"PK\x01\x02\x14\0" + common + bytes(10) + struct.pack("<I", len(body)) + name
        body += b"PK\x03\x04" + common + name + data
    end = struct.pack("<HHIIH", len(entries), len(entries), len(directory), len(body), 0)
    return body + directory + b"PK\x05\x06" + bytes(4) + end


def flipped(data, dice):
    """The bytes with one of them changed."""
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ dice.randrange(1, 256)]) + data[at + 1 :]


def placed(entries, dice, wanted):
    """Index of one of the entries whose path is wanted."""
    return dice.choice([i for i, (path, data) in enumerate(entries) if wanted(path) and data])


def byte_in(wanted):
    """Changes one byte of one file, of any kind that is there."""

    def mutate(entries, dice, _other):
        kinds = sorted({kind(path) for path, data in entries if wanted(path) and data})
        chosen = dice.choice(kinds)
        at = placed(entries, dice, lambda path: wanted(path) and kind(path) == chosen)
        path, data = entries[at]
        entries[at] = (path, flipped(data, dice))
        return f"a byte of {path}"

    return mutate


def kind(path):
    """Folder and ending of a file: one of each kind is as likely, however many there are."""
    folder = path.split("/")[1] if path.startswith("data/") and path.count("/") > 1 else ""
    return folder, path.rsplit(".", 1)[-1]


def other_key(pem, dice):
    """A public key with one of its 32 bytes changed, written as PEM again.

    Not a byte of the text: base64 has bits that no byte comes from, and the rows can be broken anywhere,
    so that another text may well be the same key to openssl.
    """
    head, *rows, foot = pem.decode().splitlines()
    der = base64.b64decode("".join(rows))
    changed = base64.b64encode(der[:-32] + flipped(der[-32:], dice)).decode()
    return "\n".join([head, changed, foot, ""]).encode()


def key_changed(entries, dice, _other):
    """Changes the public key."""
    at = placed(entries, dice, lambda path: path == KEY)
    entries[at] = (KEY, other_key(entries[at][1], dice))
    return f"a byte of the key in {KEY}"


def dropped(entries, dice, _other):
    """Leaves one file out."""
    at = placed(entries, dice, lambda path: path != ARCHIVE_SIGNATURE)
    return f"without {entries.pop(at)[0]}"


def added_to_payload(entries, dice, _other):
    """Puts one more file into the payload, in its place in the order."""
    return added(entries, f"data/records/runs/extra-{dice.randrange(10**6)}.json")


def added_beside(entries, dice, _other):
    """Puts one more file beside the payload."""
    return added(entries, dice.choice(["notes.txt", "signature/second.sig", "fetch.txt"]))


def added(entries, path):
    """Puts a file among the sorted ones before the last."""
    last = entries.pop()
    entries.append((path, b"{}\n"))
    entries.sort()
    entries.append(last)
    return f"with {path}"


def renamed(entries, dice, _other):
    """Gives one file another name, in its place in the order."""
    at = placed(entries, dice, lambda path: path != ARCHIVE_SIGNATURE)
    path, data = entries.pop(at)
    last = entries.pop()
    entries.append((path + "x", data))
    entries.sort()
    entries.append(last)
    return f"{path} renamed"


def row_changed(entries, dice, _other):
    """Changes, drops or doubles one row of a list."""
    at = placed(entries, dice, lambda path: path in LISTS)
    path, data = entries[at]
    rows = data.decode().splitlines()
    row = dice.randrange(len(rows))
    how = dice.choice(["digit", "path", "drop", "double"])
    if how == "digit":
        rows[row] = ("1" if rows[row][0] == "0" else "0") + rows[row][1:]
    elif how == "path":
        rows[row] += "x"
    elif how == "drop":
        del rows[row]
    else:
        rows.insert(row, rows[row])
    entries[at] = (path, ("\n".join(rows) + "\n").encode())
    return f"{how} of row {row + 1} of {path}"


def swapped(entries, dice, other):
    """Takes a signature of another package of the same signer, or the other one of this."""
    own, foreign = dict(entries), dict(other)
    taken = dice.choice([foreign[LIST_SIGNATURE], own[ARCHIVE_SIGNATURE]])
    entries[[path for path, _ in entries].index(LIST_SIGNATURE)] = (LIST_SIGNATURE, taken)
    return f"{LIST_SIGNATURE} of another"


def signed_again(top, entries, _dice):
    """The whole package signed by a key of somebody else, after a change: only the key tells."""
    files = dict(entries)
    with tempfile.TemporaryDirectory() as folder:
        key, message, signature = (Path(folder) / name for name in ("key", "message", "signature"))

        def openssl(*words):
            subprocess.run(["openssl", *map(str, words)], check=True, capture_output=True)

        def sign(data):
            message.write_bytes(data)
            openssl("pkeyutl", "-sign", "-rawin", "-inkey", key, "-in", message, "-out", signature)
            return signature.read_bytes()

        openssl("genpkey", "-algorithm", "ed25519", "-out", key)
        openssl("pkey", "-in", key, "-pubout", "-out", message)
        files[KEY] = message.read_bytes()
        files[LIST_SIGNATURE] = sign(files[LISTS[1]])
        del files[ARCHIVE_SIGNATURE]
        before = written(top, sorted(files.items()))
        before = before[: before.index(b"PK\x01\x02\x14\0")]
        files_in_order = sorted(files.items())
        return written(top, [*files_in_order, (ARCHIVE_SIGNATURE, sign(sha256(before)))])


def sha256(data):
    """Raw digest."""
    return hashlib.sha256(data).digest()


def reordered(entries, dice, _other):
    """Exchanges two neighbours."""
    at = dice.randrange(len(entries) - 1)
    entries[at], entries[at + 1] = entries[at + 1], entries[at]
    return f"{entries[at][0]} before its neighbour"


# What is done to the entries, and which outside judges see it once the bag is unpacked; no judge where
# only the bytes of the ZIP show it.
ENTRY_KINDS = {
    "byte of a payload file": (byte_in(lambda p: p.startswith("data/")), {"sha256sum"}),
    "byte of a tag file": (byte_in(lambda p: p in TAG_FILES), {"sha256sum"}),
    "byte of a list": (byte_in(lambda p: p in LISTS), {"sha256sum", "openssl"}),
    "byte of the signature of the list": (byte_in(lambda p: p == LIST_SIGNATURE), {"openssl"}),
    "byte of the key": (key_changed, {"openssl"}),
    "byte of the text of the key": (byte_in(lambda p: p == KEY), set()),
    "byte of the last signature": (byte_in(lambda p: p == ARCHIVE_SIGNATURE), set()),
    "file dropped": (dropped, {"sha256sum", "openssl"}),
    "payload file added": (added_to_payload, {"bagit"}),
    "file added beside": (added_beside, set()),
    "file renamed": (renamed, {"sha256sum", "openssl"}),
    "row of a list changed": (row_changed, {"sha256sum", "openssl"}),
    "signature swapped": (swapped, {"openssl"}),
    "entries reordered": (reordered, set()),
}


def trailing(data, dice):
    """Bytes after the end."""
    return data + bytes(dice.randrange(256) for _ in range(dice.randrange(1, 40)))


def truncated(data, dice):
    """The file cut off somewhere."""
    return data[: dice.randrange(len(data))]


BYTE_KINDS = {"trailing bytes": (trailing, set()), "truncated": (truncated, {"unzip"})}
SIGNED_AGAIN = "signed again by another key"


def mutants(package, other, count, dice):
    """So many mutants, kind after kind: kind, what was done, bytes, judges of which one must see it."""
    top, entries = read(package)
    _, foreign = read(other)
    kinds = [*ENTRY_KINDS, *BYTE_KINDS, SIGNED_AGAIN]
    whole = package.read_bytes()
    for number in range(count):
        name = kinds[number % len(kinds)]
        if name in ENTRY_KINDS:
            mutate, judges = ENTRY_KINDS[name]
            changed = list(entries)
            what = mutate(changed, dice, foreign)
            yield name, what, written(top, changed), judges
        elif name in BYTE_KINDS:
            mutate, judges = BYTE_KINDS[name]
            yield name, name, mutate(whole, dice), judges
        else:
            yield name, name, signed_again(top, entries, dice), {"fingerprint"}
