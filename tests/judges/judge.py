"""Holds finished packages against programs that know nothing of Obvert.

    judge.py --obvert PATH [--flips N] [--seed N] PACKAGE.zip...

Every package: unzip, bagit, sha256sum, openssl, qpdf, pikepdf, check-jsonschema. The smallest one is
then damaged: N times one byte of the ZIP, which `obvert package verify` must refuse with exit code 8;
and one byte of each file of the unpacked bag, which sha256sum or openssl must refuse.
Exit code 0 when every judge agrees, 1 with the first that does not.
"""

import argparse
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import pikepdf

VENV = Path(sys.executable).parent
VERIFICATION_FAILED = 8
PDF_CLAIMS = {"pdfaid:part": "2", "pdfaid:conformance": "A", "pdfuaid:part": "1"}
TAG_MANIFEST = "tagmanifest-sha256.txt"


class Disagreement(Exception):
    """A judge found something that a package must not have."""


def run(*command, cwd=None):
    """Exit code and output of a command."""
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, capture_output=True, text=True, check=False
    )
    return done.returncode, (done.stdout + done.stderr).strip()


def accepted(*command, cwd=None):
    """Runs a judge that must accept; returns what it said."""
    code, said = run(*command, cwd=cwd)
    if code != 0:
        raise Disagreement(f"{Path(str(command[0])).name} exits {code}: {said[-2000:]}")
    return said


def unpacked(package, folder):
    """Unpacks with the system's unzip; returns the one top folder."""
    accepted("unzip", "-q", package, "-d", folder)
    tops = list(folder.iterdir())
    if len(tops) != 1:
        raise Disagreement(f"{package.name} has {len(tops)} top folders")
    return tops[0]


def fixity_refusals(bag):
    """What sha256sum and openssl say against a bag, by the two commands of HOW-TO-VERIFY.txt."""
    refusals = []
    for manifest in ("manifest-sha256.txt", TAG_MANIFEST):
        code, said = run("sha256sum", "--check", "--strict", "--quiet", manifest, cwd=bag)
        if code != 0:
            refusals.append(f"sha256sum: {said[:200]}")
    code, said = run(
        *("openssl", "pkeyutl", "-verify", "-pubin", "-inkey", "signature/signer.pem"),
        *("-rawin", "-in", TAG_MANIFEST, "-sigfile", "signature/tagmanifest-sha256.sig"),
        cwd=bag,
    )
    if code != 0:
        refusals.append(f"openssl: {said[:200]}")
    return refusals


def check_fixity(bag):
    """RFC 8493, digests and signature."""
    accepted(VENV / "python", VENV / "bagit.py", "--validate", "--quiet", bag)
    refusals = fixity_refusals(bag)
    if refusals:
        raise Disagreement("; ".join(refusals))
    listed = {
        row.split("  ", 1)[1]
        for row in (bag / "manifest-sha256.txt").read_text(encoding="utf-8").splitlines()
    }
    payload = {str(path.relative_to(bag)) for path in files_of(bag / "data")}
    if listed != payload:
        raise Disagreement(f"listed or there, not both: {sorted(listed ^ payload)}")


def check_document(document):
    """A document: sound, PDF/A-2a and PDF/UA-1 by its own claim, with what they need."""
    accepted("qpdf", "--check", document)
    with pikepdf.open(document) as pdf:
        with pdf.open_metadata() as metadata:
            claims = {name: metadata.get(name) for name in PDF_CLAIMS}
            title = metadata.get("dc:title")
        root = pdf.Root
        needed = ["/OutputIntents", "/Lang", "/StructTreeRoot", "/MarkInfo"]
        missing = [key for key in needed if key not in root]
        if claims != PDF_CLAIMS or missing or not title:
            raise Disagreement(f"{document.name} claims {claims}, title {title}, lacks {missing}")


def check_records(bags):
    """The records of all bags against the schema of their type, one call for each type.

    A type has one schema: that of every bag must have the same bytes.
    """
    records, schemas = {}, {}
    for bag in bags:
        for path in files_of(bag / "data" / "records"):
            name = json.loads(path.read_text(encoding="utf-8"))["type"]
            records.setdefault(name, []).append(path)
            schema = bag / "data" / "schema" / f"{name}.schema.json"
            first = schemas.setdefault(name, schema)
            if first != schema and first.read_bytes() != schema.read_bytes():
                raise Disagreement(f"{first} and {schema} differ")
        if not files_of(bag / "data" / "records"):
            raise Disagreement(f"{bag.name} has no records")
    for name, paths in sorted(records.items()):
        accepted(VENV / "check-jsonschema", "--schemafile", schemas[name], *paths)
        # A schema that takes anything is no schema.
        spoilt = json.loads(paths[0].read_text(encoding="utf-8"))
        spoilt["record"]["notInTheSchema"] = 1
        with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
            json.dump(spoilt, file)
            file.flush()
            code, _ = run(VENV / "check-jsonschema", "--schemafile", schemas[name], file.name)
        if code == 0:
            raise Disagreement(f"{schemas[name].name} takes a field that {name} does not have")
    return sum(len(paths) for paths in records.values()), len(records)


def files_of(folder):
    """All files below a folder, in order."""
    return sorted(path for path in folder.rglob("*") if path.is_file())


def flipped(data, dice):
    """The bytes with one of them changed, and where."""
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ dice.randrange(1, 256)]) + data[at + 1 :], at


def refuse_damaged_zip(obvert, package, flips, dice):
    """One changed byte anywhere in the file, a byte less and a byte more are refused."""
    data = package.read_bytes()
    damaged = [flipped(data, dice) for _ in range(flips)]
    damaged += [(data[:-1], len(data) - 1), (data + b"\0", len(data))]
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / package.name
        for content, at in damaged:
            copy.write_bytes(content)
            code, said = run(obvert, "package", "verify", copy)
            if code != VERIFICATION_FAILED:
                raise Disagreement(f"{package.name} changed at byte {at}: exit {code}: {said}")


def refuse_damaged_bag(bag, dice):
    """One changed byte in any file of the bag is refused without Obvert; returns how many files."""
    # The signature over the whole ZIP means nothing once the bag is unpacked.
    files = [path for path in files_of(bag) if path.name != "archive.sig" and path.stat().st_size]
    for path in files:
        before = path.read_bytes()
        path.write_bytes(flipped(before, dice)[0])
        if not fixity_refusals(bag):
            raise Disagreement(f"{path.relative_to(bag)} was changed and nobody noticed")
        path.write_bytes(before)
    return len(files)


def judge(obvert, packages, folder, flips, dice):
    """All judges on all packages; the smallest is damaged."""
    bags = {}
    for number, package in enumerate(packages):
        try:
            accepted(obvert, "package", "verify", package)
            bags[package] = bag = unpacked(package, Path(folder) / str(number))
            check_fixity(bag)
            check_document(bag / "data" / "closeout.pdf")
        except Disagreement as reason:
            raise Disagreement(f"{package.name}: {reason}") from reason
        print(f"  {package.name}: {len(files_of(bag))} files; bagit, sha256sum, openssl and qpdf agree")
    count, types = check_records(bags.values())
    print(f"  {count} records fit the JSON Schemas of {types} types")
    smallest = min(packages, key=lambda package: package.stat().st_size)
    refuse_damaged_zip(obvert, smallest, flips, dice)
    print(f"  {smallest.name}: {flips} changed bytes of the ZIP, all refused")
    files = refuse_damaged_bag(bags[smallest], dice)
    print(f"  {smallest.name}: a changed byte in each of {files} files, all refused")


def main():
    """Reads the arguments and judges."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--obvert", type=Path, required=True)
    parser.add_argument("--flips", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--sheets", type=Path, nargs="*", default=[])
    parser.add_argument("packages", type=Path, nargs="+")
    given = parser.parse_args()
    packages = [package.absolute() for package in given.packages]
    with tempfile.TemporaryDirectory() as folder:
        try:
            for sheet in given.sheets:
                check_document(sheet)
                print(f"  {sheet.name}: qpdf and pikepdf agree")
            judge(given.obvert.absolute(), packages, folder, given.flips, random.Random(given.seed))
        except Disagreement as reason:
            sys.exit(f"judge: {reason}")


if __name__ == "__main__":
    main()
