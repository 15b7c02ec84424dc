"""How an archive of a site is laid out: a bag (RFC 8493) whose payload is the copy of the site, and more to be read in."""

from __future__ import annotations

from typing import TypedDict

VERSION = 2
"""Number of this layout. An archive of a lower number is verified as it was laid out; none is ever used twice.

1 did not count attachments.
"""
DATA = "data/"
BAGIT, BAG_INFO, README = "bagit.txt", "bag-info.txt", "README.md"
MANIFEST, TAG_MANIFEST = "manifest-sha256.txt", "tagmanifest-sha256.txt"
TAG_FILES = (BAGIT, BAG_INFO, MANIFEST, README)
BAGIT_TEXT = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
ABOUT = "archive.json"
AUDIT = "audit.jsonl"
PLAIN = "plain"
RELEASES = "releases"
REPORTS = "reports"


class ReleaseSums(TypedDict):
    """What a release comes to, each figure the sum of what its groups' files say; None: one of them lacks it."""

    number: int
    groups: int
    fixtures: int
    kwh_now: float | None
    kwh_then: float | None
    cost: float | None
    parts: dict[str, int]


class Counts(TypedDict):
    """How much is in an archive: what whoever verifies it counts again."""

    records: dict[str, int]
    records_removed: int
    operations: int
    photos: int
    photos_missing: int
    attachments: int
    attachments_missing: int
    people: int
    audit_entries: int


class LastEntry(TypedDict):
    """The end of the chain of who did what: to be written down elsewhere, for it vouches for all before it."""

    number: int
    hash: str


class About(TypedDict):
    """archive.json."""

    archive: int
    site: str
    name: str
    made_at: str
    closed_at: str | None
    version: str
    spec: int
    counts: Counts
    photos_missing: list[str]
    attachments_missing: list[str]
    audit: LastEntry
    releases: list[ReleaseSums]
    reports: list[str]
    not_made: dict[str, str]


README_TEXT = """# The archive of one site

All that was recorded of one building's lighting conversion: the records, the photos, the log of who did what, the
releases and the reports. It can be read and checked without the program that made it. All text is UTF-8.

This folder (or zip) is a *bag* as RFC 8493 ("The BagIt File Packaging Format", version 1.0) describes it.

| file | what is in it |
| --- | --- |
| `bagit.txt`, `bag-info.txt` | that it is a bag; when it was made, its size, the last entry of the log of who did what |
| `manifest-sha256.txt` | the SHA-256 of every file in `data/`, a line each; `sha256sum --check manifest-sha256.txt` checks them |
| `tagmanifest-sha256.txt` | the same of the files beside `data/` |
| `data/archive.json` | number of this layout, the site, what is in here and how much of it: what is counted below |
| `data/plain/` | each sort of record as `<sort>.csv` and `<sort>.json`, the same rows: id, what it belongs to, its fields. Lengths named `_ticks` are whole numbers of 1/320 mm. Removed records are left out |
| `data/tables/` | rooms, fixtures, catalogue, order, waste, work as CSV, in words |
| `data/releases/` | each release as `release-<number>.json` and `.csv`: a row for each group with fixtures, energy, cost and parts |
| `data/reports/` | the hand-over report as PDF and workbook, the record of emergency tests, who did what as CSV |
| `data/attachments.jsonl`, `data/attachments/` | invoices, certificates and the like: kind, size, by whom and when each came, and the files, named by their SHA-256; what each is called and belongs to stands in `plain/attachment.csv` |
| `data/photos/` | the photos, `<sha256>.jpg`; the name is the hash of what the phone sent, and stands in `plain/photo.csv` with what each photo shows. The photos were made anew from their pixels when they arrived, so the hash of the file is the manifest's |
| `data/records.jsonl` | each record as it was kept, one JSON object a line; `facets` and `conflicts` are JSON text |
| `data/operations.jsonl` | the log: each change as it was sent (`body`, JSON text), by whom, in which order (`seq`), and what became of it |
| `data/audit.jsonl` | the chain of who did what: each entry vouches for operations and for the entry before it |
| `data/people.jsonl` | id and name of everyone who is or was on the site; no passwords |
| `data/photos.jsonl` | each photo that arrived: name, size of what was sent, by whom, when |
| `data/sums.jsonl`, `data/manifest.json` | checks that `spanwalk bring-site` reads when it takes this archive in on another server, with all ids |

People's names are in here. Keep it as the law of your country wants such records kept.

## To check it

`spanwalk verify ARCHIVE` does all of this. So can a short program of anybody's:

1. **Files.** Each line of the manifest is `<sha256>  <path>`; hash the file, compare. No file in `data/` is missing from
   the manifest, and none is there twice. The same for the tag manifest.
2. **Who did what.** Each line of `audit.jsonl` is an entry. `content` is the SHA-256 of the JSON array (no spaces, letters
   not escaped) of site, number, at, what, person, sender, device, entered_first, entered_last, about (a text or null), and
   the SHA-256 in hexadecimal of its leaves' bytes (null where it has none). `hash` is the SHA-256 of, joined by the letter
   U+001F: the hash of the entry before (of the first one: nothing), number, at, what, content. The last hash is the one in
   `archive.json` and in `bag-info.txt`; compare it with one that was written down elsewhere, for whoever makes a whole
   archive anew can make a new chain. An entry that a later one of `what` "let-go" names in `about.let_go` has lost all but
   number, at, what, content, hash.
3. **The log.** `leaves` are 16 bytes (32 hexadecimal digits) for each operation of the entry, by `place`. Each is the
   beginning of the SHA-256 of, joined by U+001F, id, person, sender, device, record, facet, received_at, result, hash,
   body, code, facts, seq of the operation's line in `operations.jsonl` ("" for null; a null seq is "None"). `operations`
   names the operations that an entry vouches for. An entry whose `about` has `moved` ([entry, place]) has taken those over.
   Operations of `about.total` were there before the chain began: their leaves, as numbers, add up to it modulo 2^128.
4. **Records.** A record's facet names the operation (`op`) that wrote it; that operation's `body` has the same value in
   `to`, field by field. Values that only the log has are older, or lost against another.
5. **Counts.** `archive.json` says how many records of each sort there are, operations, photos, attachments, people,
   entries. Count lines and files. What the store had lost when the archive was made stands under `photos_missing` and
   `attachments_missing`.
6. **Releases.** `archive.json` says what each release comes to: groups, fixtures, energy a year, cost, and of each part how
   many. Add up the rows of `releases/release-<number>.json`.
"""
