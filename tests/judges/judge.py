"""Holds finished packages against programs that know nothing of Obvert.

    judge.py --obvert PATH [--flips N] [--mutants N] [--seed N] PACKAGE.zip...

Every package: unzip, bagit, sha256sum, openssl, qpdf, pikepdf, check-jsonschema. The smallest one is
then damaged: so many times one byte of the ZIP, and so many mutants of every kind of mutants.py. Each
must be refused by `obvert package verify` with exit code 8, and by the outside judge that its kind
names once it is unpacked; a table says who saw what.
Exit code 0 when every judge agrees, 1 with the first that does not.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pikepdf
from jsonschema import Draft202012Validator
from mutants import KEY, flipped, mutants, other_key

VENV = Path(sys.executable).parent
VERIFICATION_FAILED = 8
WORKERS = os.cpu_count() or 1
PDF_CLAIMS = {"pdfaid:part": "2", "pdfaid:conformance": "A", "pdfuaid:part": "1"}
TAG_MANIFEST = "tagmanifest-sha256.txt"


class Disagreement(Exception):
    """A judge found something that a package must not have."""


def run(*command, cwd=None):
    """Exit code and output of a command."""
    done = subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        capture_output=True,
        encoding="utf-8",
        errors="backslashreplace",
        check=False,
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


def check_files(bags):
    """The other JSON files of all bags, each against the schema of its name; returns the names."""
    files = sorted({path.stem for bag in bags for path in (bag / "data").glob("*.json")})
    schemas = [bags[0] / "data" / "schema" / f"{stem}.schema.json" for stem in files]
    accepted(VENV / "check-jsonschema", "--check-metaschema", *schemas)
    for stem, schema in zip(files, schemas, strict=True):
        paths = [bag / "data" / f"{stem}.json" for bag in bags]
        accepted(VENV / "check-jsonschema", "--schemafile", schema, *paths)
        # A schema that takes anything is no schema.
        spoilt = json.loads(paths[0].read_text(encoding="utf-8")) | {"notInTheSchema": 1}
        loaded = json.loads(schema.read_text(encoding="utf-8"))
        if Draft202012Validator(loaded).is_valid(spoilt):
            raise Disagreement(f"{schema.name} takes a field that {stem}.json does not have")
    return files


def files_of(folder):
    """All files below a folder, in order."""
    return sorted(path for path in folder.rglob("*") if path.is_file())


def refuse_damaged_zip(obvert, package, flips, dice):
    """One changed byte anywhere in the file, a byte less and a byte more are refused."""
    data = package.read_bytes()
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(WORKERS) as pool:

        def judged(damage):
            name, at, change = damage
            copy = Path(folder) / f"{name}.zip"
            copy.write_bytes(change(data))
            code, said = run(obvert, "package", "verify", copy)
            if code != VERIFICATION_FAILED:
                raise Disagreement(f"{package.name} changed at byte {at}: exit {code}: {said}")
            copy.unlink()

        def byte(at, mask):
            return lambda whole: whole[:at] + bytes([whole[at] ^ mask]) + whole[at + 1 :]

        # What is done, not what comes of it: 5,000 copies would not fit in memory.
        damages = [("less", len(data) - 1, lambda whole: whole[:-1])]
        damages.append(("more", len(data), lambda whole: whole + b"\0"))
        for number in range(flips):
            at = dice.randrange(len(data))
            damages.append((number, at, byte(at, dice.randrange(1, 256))))
        list(pool.map(judged, damages))


def refuse_damaged_bag(bag, dice):
    """One changed byte in any file of the bag is refused without Obvert; returns how many files."""
    # The signature over the whole ZIP means nothing once the bag is unpacked.
    files = [path for path in files_of(bag) if path.name != "archive.sig" and path.stat().st_size]
    for path in files:
        before = path.read_bytes()
        is_key = path == bag / KEY
        path.write_bytes(other_key(before, dice) if is_key else flipped(before, dice))
        if not fixity_refusals(bag):
            raise Disagreement(f"{path.relative_to(bag)} was changed and nobody noticed")
        path.write_bytes(before)
    return len(files)


def fingerprint_of(bag):
    """Fingerprint of the key in a bag, by the third command of HOW-TO-VERIFY.txt."""
    command = "openssl pkey -pubin -in signature/signer.pem -outform DER | tail -c 32 | sha256sum"
    code, said = run("bash", "-o", "pipefail", "-c", command, cwd=bag)
    return said.split()[0] if code == 0 else None


def seen_outside(package, fingerprint):
    """Outside judges that refuse a file: by unpacking it, by HOW-TO-VERIFY.txt, or else by more."""
    with tempfile.TemporaryDirectory() as folder:
        code, _ = run("unzip", "-q", package, "-d", folder)
        # 1 is a warning; the files are there.
        if code not in (0, 1):
            return {"unzip"}
        bag = next(Path(folder).iterdir())
        seen = {refusal.split(":")[0] for refusal in fixity_refusals(bag)}
        if seen:
            return seen
        code, _ = run(VENV / "python", VENV / "bagit.py", "--validate", "--quiet", bag)
        if code != 0:
            seen.add("bagit")
        if fingerprint_of(bag) != fingerprint:
            seen.add("fingerprint")
        return seen


def refuse_mutants(obvert, package, other, count, dice):
    """Every mutant is refused; returns how often which judge saw each kind."""
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(WORKERS) as pool:
        fingerprint = fingerprint_of(unpacked(package, Path(folder) / "whole"))

        def judged(number_and_mutant):
            number, (kind, what, data, judges) = number_and_mutant
            path = Path(folder) / f"{number}.zip"
            path.write_bytes(data)
            code, said = run(obvert, "package", "verify", path, "--key", fingerprint)
            if code != VERIFICATION_FAILED:
                raise Disagreement(f"{package.name}, {kind}, {what}: exit {code}: {said}")
            seen = seen_outside(path, fingerprint)
            if judges and not judges & seen:
                raise Disagreement(f"{package.name}, {kind}, {what}: only {sorted(seen)} saw it")
            path.unlink()
            return kind, seen

        table = defaultdict(Counter)
        for kind, seen in pool.map(judged, enumerate(mutants(package, other, count, dice))):
            table[kind].update(["made", *seen])
        return table


def show_mutants(table):
    """Who saw each kind of mutant, besides `obvert package verify`, which saw all."""
    judges = ["unzip", "sha256sum", "openssl", "bagit", "fingerprint"]
    for kind, counts in table.items():
        outside = [f"{judge} {counts[judge]}" for judge in judges if counts[judge]]
        print(f"    {kind}: {counts['made']} refused; outside: {', '.join(outside) or 'nobody'}")


def judge(obvert, packages, folder, flips, mutant_count, dice):
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
    count, types = check_records(list(bags.values()))
    print(f"  {count} records fit the JSON Schemas of {types} types")
    print(f"  {', '.join(check_files(list(bags.values())))} fit the JSON Schemas of their names")
    smallest = min(packages, key=lambda package: package.stat().st_size)
    refuse_damaged_zip(obvert, smallest, flips, dice)
    print(f"  {smallest.name}: {flips} changed bytes of the ZIP, all refused")
    files = refuse_damaged_bag(bags[smallest], dice)
    print(f"  {smallest.name}: a changed byte in each of {files} files, all refused")
    other = next((package for package in packages if package != smallest), smallest)
    table = refuse_mutants(obvert, smallest, other, mutant_count, dice)
    print(f"  {smallest.name}: {mutant_count} mutants, all refused by obvert package verify")
    show_mutants(table)


def main():
    """Reads the arguments and judges."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--obvert", type=Path, required=True)
    parser.add_argument("--flips", type=int, default=500)
    parser.add_argument("--mutants", type=int, default=200)
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
            dice = random.Random(given.seed)
            judge(given.obvert.absolute(), packages, folder, given.flips, given.mutants, dice)
        except Disagreement as reason:
            sys.exit(f"judge: {reason}")


if __name__ == "__main__":
    main()
