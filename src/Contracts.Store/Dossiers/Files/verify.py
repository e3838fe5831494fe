#!/usr/bin/env python3
"""Checks seals without the program that made them: Python 3.9 or newer, its standard library, nothing else.

What the bytes mean is written in docs/seals.md; each part below names the document it follows. The code is written from
those documents and not from the program, so that a mistake would have to be made twice.

    python3 verify.py DOSSIER.zip [--policy FILE]   exit 0: holds, 1: altered, 2: cannot be told, 3: wrong usage
    python3 verify.py selftest < cases.jsonl    one case a line in, one answer a line out (see the last part)
"""
import base64
import datetime
import hashlib
import json
import re
import struct
import sys
import zipfile
import zlib

LARGEST_JSON = 16 * 1024 * 1024
DEEPEST = 64
LARGEST_INTEGER = 2 ** 53 - 1
LARGEST_NOTE = 1_000_000
MOST_SIGNATURES = 100
LONGEST_ENTRY = 65_535
LONGEST_DISCLOSURE = 64 * 1024
MOST_HASHES = 63
ZERO = bytes(32)


class Fault(Exception):
    """Something foreign is wrong: a stable word for what, and a sentence."""

    def __init__(self, kind, detail):
        super().__init__(f"{kind}: {detail}")
        self.kind = kind
        self.detail = detail


# --- Text and base64: one spelling only -----------------------------------------------------------------------------

def utf8(data, kind):
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        raise Fault(kind, "not valid UTF-8") from None


def base64_bytes(text):
    """The bytes of standard base64 (RFC 4648, section 4) in its only spelling, or None."""
    try:
        data = base64.b64decode(text.encode("ascii"), validate=True)
    except (ValueError, UnicodeEncodeError):
        return None
    return data if base64.b64encode(data).decode("ascii") == text else None


def base64url(data):
    """Base64 for URLs without padding (RFC 4648, section 5)."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode("ascii")


def base64url_bytes(text):
    if not re.fullmatch(r"[A-Za-z0-9_-]*", text, re.ASCII) or text.endswith("\n") or len(text) % 4 == 1:
        return None
    data = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    return data if base64url(data) == text else None


def hash_of_hex(text):
    """The 32 bytes of 64 lower-case hexadecimal digits, or None."""
    return bytes.fromhex(text) if isinstance(text, str) and re.fullmatch(r"[0-9a-f]{64}", text) and len(text) == 64 else None


def hash_of_base64(text):
    data = base64_bytes(text)
    return data if data is not None and len(data) == 32 else None


def count_of(text):
    """A whole number from 0 to 2^63-1 in digits without leading zeros, or None."""
    if not isinstance(text, str) or len(text) > 19 or not re.fullmatch(r"0|[1-9][0-9]*", text, re.ASCII) or text.endswith("\n"):
        return None
    value = int(text)
    return value if value < 2 ** 63 else None


# --- Canonical JSON (RFC 8785) in the restricted model ---------------------------------------------------------------

def _integer(token):
    if token == "-0":
        raise Fault("json-not-an-integer", "-0")
    if len(token) > 17 or abs(int(token)) > LARGEST_INTEGER:
        raise Fault("json-number-too-large", "beyond 2^53-1")
    return int(token)


def _fraction(token):
    raise Fault("json-not-an-integer", token)


def _constant(token):
    raise Fault("json-malformed", token)


def _object(pairs):
    members = dict(pairs)
    if len(members) != len(pairs):
        raise Fault("json-name-repeated", "a name stands twice in one object")
    return members


def json_value(data):
    """Reads JSON in the restricted model: no fraction, no integer beyond 2^53-1, no name twice."""
    if len(data) > LARGEST_JSON:
        raise Fault("json-too-large", f"{len(data)} bytes")
    text = utf8(data, "json-not-utf8")
    try:
        return json.loads(text, object_pairs_hook=_object, parse_int=_integer, parse_float=_fraction, parse_constant=_constant)
    except RecursionError:
        raise Fault("json-too-deep", "nested too deep") from None
    except ValueError as wrong:
        raise Fault("json-malformed", str(wrong)) from None


_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def _text(value):
    for letter in value:
        if "\ud800" <= letter <= "\udfff":
            raise Fault("json-lone-surrogate", "half of a surrogate pair")
        if letter == "\0":
            raise Fault("json-nul", "U+0000")
    return '"' + "".join(_ESCAPES.get(c) or (f"\\u{ord(c):04x}" if c < " " else c) for c in value) + '"'


def _write(value, out, depth):
    if isinstance(value, str):
        out.append(_text(value))
    elif value is None or isinstance(value, bool):
        out.append({None: "null", True: "true", False: "false"}[value])
    elif isinstance(value, int):
        out.append(str(value))
    elif depth >= DEEPEST:
        raise Fault("json-too-deep", f"deeper than {DEEPEST}")
    elif isinstance(value, list):
        out.append("[")
        for at, item in enumerate(value):
            if at:
                out.append(",")
            _write(item, out, depth + 1)
        out.append("]")
    else:
        for name in value:
            _text(name)
        out.append("{")
        for at, name in enumerate(sorted(value, key=lambda word: word.encode("utf-16-be"))):
            if at:
                out.append(",")
            out.append(_text(name) + ":")
            _write(value[name], out, depth + 1)
        out.append("}")


def canonical(value):
    """The canonical bytes of a value that json_value read or that is of its kinds."""
    out = []
    _write(value, out, 0)
    return "".join(out).encode("utf-8")


def canonical_json(data):
    """The canonical bytes of JSON in the restricted model."""
    return canonical(json_value(data))


def canonical_value(data):
    """The value of bytes that must be canonical already."""
    value = json_value(data)
    if canonical(value) != data:
        raise Fault("json-not-canonical", "the canonical form has other bytes")
    return value


# --- Trees and proofs (RFC 6962, section 2.1; RFC 9162, section 2.1) -------------------------------------------------

def sha256(data):
    return hashlib.sha256(data).digest()


EMPTY_ROOT = sha256(b"")


def leaf_hash(entry):
    return sha256(b"\x00" + entry)


def node_hash(left, right):
    return sha256(b"\x01" + left + right)


def tree_root(leaves):
    """The root over leaf hashes, by halving at the largest power of two below their number."""
    if len(leaves) < 2:
        return leaves[0] if leaves else EMPTY_ROOT
    split = 1 << (len(leaves) - 1).bit_length() - 1
    return node_hash(tree_root(leaves[:split]), tree_root(leaves[split:]))


def check_inclusion(index, size, path, leaf, root):
    """RFC 9162, section 2.1.3.2."""
    if index < 0 or index >= size:
        raise Fault("proof-index-outside", f"leaf {index} of {size}")
    at, last, found = index, size - 1, leaf
    for step in path:
        if last == 0:
            raise Fault("proof-length", "too many hashes")
        if at & 1 or at == last:
            found = node_hash(step, found)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            found = node_hash(found, step)
        at, last = at >> 1, last >> 1
    if last:
        raise Fault("proof-length", "too few hashes")
    if found != root:
        raise Fault("proof-root-differs", f"{found.hex()}, not {root.hex()}")


def check_consistency(old_size, new_size, path, old_root, new_root):
    """RFC 9162, section 2.1.4.2. From an empty tree there is nothing to prove, and a proof of that is refused."""
    if old_size < 1 or old_size > new_size:
        raise Fault("proof-index-outside", f"from {old_size} to {new_size}")
    if old_size == new_size:
        if path:
            raise Fault("proof-length", "one size needs no hashes")
        if old_root != new_root:
            raise Fault("proof-root-differs", "one size, two roots")
        return
    if not path:
        raise Fault("proof-length", "no hashes")
    steps = list(path)
    if old_size & (old_size - 1) == 0:
        steps.insert(0, old_root)
    at, last = old_size - 1, new_size - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    old = new = steps[0]
    for step in steps[1:]:
        if last == 0:
            raise Fault("proof-length", "too many hashes")
        if at & 1 or at == last:
            old, new = node_hash(step, old), node_hash(step, new)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            new = node_hash(new, step)
        at, last = at >> 1, last >> 1
    if last:
        raise Fault("proof-length", "too few hashes")
    if old != old_root or new != new_root:
        raise Fault("proof-root-differs", f"from {old_size} to {new_size}")


# --- Ed25519 (RFC 8032, section 5.1): verification only ---------------------------------------------------------------

_P = 2 ** 255 - 19
_ORDER = 2 ** 252 + 27742317777372353535851937790883648493
_D = -121665 * pow(121666, _P - 2, _P) % _P
_ROOT = pow(2, (_P - 1) // 4, _P)


def _point(data):
    """The point of 32 bytes in its only spelling as (x, y, 1, xy), or None (section 5.1.3)."""
    y = int.from_bytes(data, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    if y >= _P:
        return None
    square = (y * y - 1) * pow(_D * y * y + 1, _P - 2, _P) % _P
    x = pow(square, (_P + 3) // 8, _P)
    if (x * x - square) % _P:
        x = x * _ROOT % _P
    if (x * x - square) % _P or (x == 0 and sign):
        return None
    if x & 1 != sign:
        x = _P - x
    return x, y, 1, x * y % _P


def _add(left, right):
    a = (left[1] - left[0]) * (right[1] - right[0]) % _P
    b = (left[1] + left[0]) * (right[1] + right[0]) % _P
    c = 2 * left[3] * right[3] * _D % _P
    d = 2 * left[2] * right[2] % _P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % _P, g * h % _P, f * g % _P, e * h % _P


def _times(count, point):
    total = (0, 1, 1, 0)
    while count:
        if count & 1:
            total = _add(total, point)
        point = _add(point, point)
        count >>= 1
    return total


_BASE = _point((4 * pow(5, _P - 2, _P) % _P).to_bytes(32, "little"))


def ed25519_holds(key, message, signature):
    if len(key) != 32 or len(signature) != 64:
        return False
    public, commitment = _point(key), _point(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if public is None or commitment is None or scalar >= _ORDER:
        return False
    challenge = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % _ORDER
    left, right = _times(scalar, _BASE), _add(commitment, _times(challenge, public))
    return (left[0] * right[2] - right[0] * left[2]) % _P == 0 and (left[1] * right[2] - right[1] * left[2]) % _P == 0


# --- Notes and checkpoints (C2SP signed-note, tlog-cosignature, tlog-checkpoint, tlog-proof) --------------------------

ED25519, COSIGNATURE = 0x01, 0x04


def is_key_name(name):
    return bool(name) and not any(c == "+" or c < " " or c.isspace() for c in name)


class Key:
    """A public key written name+keyid+base64(type || key)."""

    def __init__(self, vkey):
        parts = vkey.split("+", 2)
        tagged = base64_bytes(parts[2]) if len(parts) == 3 else None
        if not tagged or not is_key_name(parts[0]):
            raise Fault("key-malformed", "a key is name+keyid+base64")
        self.name, self.id = parts[0], sha256(parts[0].encode("utf-8") + b"\n" + tagged)[:4]
        if parts[1] != self.id.hex():
            raise Fault("key-malformed", "the key id is another")
        self.type, self.key, self.vkey = tagged[0], tagged[1:], vkey
        if self.type not in (ED25519, COSIGNATURE):
            raise Fault("key-type-unknown", f"{self.type:02x}")
        if len(self.key) != 32:
            raise Fault("key-malformed", "an Ed25519 key has 32 bytes")

    def holds(self, text, signature):
        if self.type == ED25519:
            return ed25519_holds(self.key, text, signature)
        if len(signature) != 72 or signature[0] & 0x80:
            return False
        head = f"cosignature/v1\ntime {int.from_bytes(signature[:8], 'big')}\n".encode("ascii")
        return ed25519_holds(self.key, head + text, signature[8:])


def read_note(data):
    """The text of a note and its signature lines as (name, key id, signature); nothing is verified yet."""
    if len(data) > LARGEST_NOTE:
        raise Fault("note-too-large", f"{len(data)} bytes")
    whole = utf8(data, "note-malformed")
    split = whole.rfind("\n\n")
    if any(c < " " and c != "\n" for c in whole) or not whole.endswith("\n") or split < 0 or split + 2 == len(whole):
        raise Fault("note-malformed", "a text, an empty line, signature lines")
    lines = whole[split + 2:-1].split("\n")
    if len(lines) > MOST_SIGNATURES:
        raise Fault("note-too-large", f"{len(lines)} signatures")
    signatures = []
    for line in lines:
        parts = line[2:].split(" ")
        data = base64_bytes(parts[1]) if line.startswith("\u2014 ") and len(parts) == 2 and is_key_name(parts[0]) else None
        if data is None or len(data) <= 4:
            raise Fault("note-malformed", "a signature line is a dash, a name and base64")
        signatures.append((parts[0], data[:4], data[4:]))
    return whole[:split + 1], signatures


def open_note(data, keys):
    """The text of a note and those of the keys that signed it; a wrong signature of a known key refuses the note."""
    text, signatures = read_note(data)
    found = []
    for key in keys:
        own = [signature for name, key_id, signature in signatures if name == key.name and key_id == key.id]
        if not all(key.holds(text.encode("utf-8"), signature) for signature in own):
            raise Fault("signature-wrong", key.name)
        if own:
            found.append(key)
    if not found:
        raise Fault("signature-unknown", "no known key has signed")
    return text, found


def read_checkpoint(text):
    """Origin, size and root of a checkpoint's text."""
    lines = text[:-1].split("\n") if text.endswith("\n") else []
    size = count_of(lines[1]) if len(lines) == 3 and all(lines) else None
    root = hash_of_base64(lines[2]) if size is not None else None
    if root is None or (size == 0 and root != EMPTY_ROOT):
        raise Fault("checkpoint-malformed", "three lines: origin, size, root of 32 bytes")
    return lines[0], size, root


def open_checkpoint(data, log, others=()):
    """Size, root and signing keys of a checkpoint that the log itself must have signed."""
    text, found = open_note(data, [log, *others])
    if log not in found:
        raise Fault("signature-unknown", f"{log.name} has not signed")
    origin, size, root = read_checkpoint(text)
    if origin != log.name:
        raise Fault("origin-differs", f"{origin}, not {log.name}")
    return size, root, found


def read_tlog_proof(data):
    """Index, path and checkpoint note of a proof in text form."""
    if len(data) > LARGEST_NOTE:
        raise Fault("proof-malformed", "too large")
    text = utf8(data, "proof-malformed")
    split = text.find("\n\n")
    lines = text[:split].split("\n") if split >= 0 and split + 2 < len(text) else []
    if not lines or lines.pop(0) != "c2sp.org/tlog-proof@v1":
        raise Fault("proof-malformed", "header and checkpoint")
    if lines and lines[0].startswith("extra ") and base64_bytes(lines.pop(0)[6:]) is None:
        raise Fault("proof-malformed", "extra data")
    index = count_of(lines.pop(0)[6:]) if lines and lines[0].startswith("index ") else None
    path = [hash_of_base64(line) for line in lines]
    if index is None or None in path or len(path) > MOST_HASHES:
        raise Fault("proof-malformed", "index and hashes")
    return index, path, text[split + 2:].encode("utf-8")


def check_tlog_proof(data, leaf, log, others=()):
    index, path, note = read_tlog_proof(data)
    size, root, found = open_checkpoint(note, log, others)
    check_inclusion(index, size, path, leaf, root)
    return index, size, root, found


# --- Entries of the log, version 1 (docs/seals.md) --------------------------------------------------------------------

def _is_text(value):
    return isinstance(value, str) and value != ""


def _is_optional(value):
    return value is None or _is_text(value)


def _is_count(value):
    return count_of(value) is not None


def _is_hash(value):
    return hash_of_hex(value) is not None


def _is_day(value):
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value) or len(value) != 10:
        return False
    try:
        datetime.date(int(value[:4]), int(value[5:7]), int(value[8:]))
    except ValueError:
        return False
    return True


def _is_moment(value):
    if not isinstance(value, str) or len(value) != 27 or not re.fullmatch(r"T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z", value[10:]):
        return False
    return _is_day(value[:10]) and int(value[11:13]) < 24 and int(value[14:16]) < 60 and int(value[17:19]) < 60


def _is_id(value):
    return isinstance(value, str) and len(value) == 36 and bool(re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", value))


MEMBERS = {
    "event": {"log": _is_text, "tenant": _is_text, "stream": _is_text, "ver": _is_count, "seq": _is_count, "id": _is_id, "type": _is_text,
              "eff": lambda value: value is None or _is_day(value), "at": _is_moment, "actor": _is_optional, "cmd": _is_optional,
              "data": _is_hash, "meta": _is_hash, "prev": _is_hash},
    "head": {"tenant": _is_text, "stream": _is_text, "ver": _is_count, "index": _is_count, "leaf": _is_hash},
    "anchor": {"log": _is_text, "at": _is_moment, "reason": lambda value: value in ("daily", "month-end", "on-demand"), "period": _is_optional,
               "size": _is_count, "root": _is_hash, "events": _is_count, "headCount": _is_count, "heads": _is_hash, "rules": _is_hash,
               "build": _is_text, "tzdb": _is_text},
    "access": {"log": _is_text, "at": _is_moment, "from": _is_moment, "until": _is_moment, "count": _is_count, "records": _is_hash},
    "erasure": {"log": _is_text, "at": _is_moment, "tenant": _is_text, "subject": _is_text, "basis": _is_text},
    "incident": {"log": _is_text, "at": _is_moment, "reason": _is_text, "report": _is_hash},
    "key": {"log": _is_text, "at": _is_moment, "vkey": _is_text, "note": _is_text},
}


def read_entry(data):
    """The members of an entry; its leaf hash is leaf_hash(data)."""
    if len(data) > LONGEST_ENTRY:
        raise Fault("entry-too-long", f"{len(data)} bytes")
    entry = canonical_value(data)
    if not isinstance(entry, dict):
        raise Fault("json-malformed", "an entry is an object")
    version = entry.get("v")
    if not isinstance(version, int) or isinstance(version, bool):
        raise Fault("entry-field-missing", "v")
    if version != 1:
        raise Fault("entry-version-unknown", str(version))
    kind = entry.get("kind")
    members = MEMBERS.get(kind) if isinstance(kind, str) else None
    if members is None:
        raise Fault("entry-kind-unknown", str(kind))
    for name, is_good in members.items():
        if name not in entry:
            raise Fault("entry-field-missing", name)
        if not is_good(entry[name]):
            raise Fault("entry-field-invalid", name)
    for name in entry:
        if name not in members and name not in ("v", "kind"):
            raise Fault("entry-field-unknown", name)
    return entry


# --- The map of stream heads (docs/seals.md) --------------------------------------------------------------------------

def head_key(tenant, stream):
    return tenant.encode("utf-8") + b"\0" + stream.encode("utf-8")


def head_map_root(heads):
    """The root over head entries, sorted by their keys; two of one stream are refused."""
    keyed = sorted((head_key(head["tenant"], head["stream"]), canonical(head)) for head in heads)
    if any(keyed[at][0] == keyed[at + 1][0] for at in range(len(keyed) - 1)):
        raise Fault("head-repeated", "two heads of one stream")
    return tree_root([leaf_hash(entry) for _, entry in keyed])


def _placed(place):
    if place is None:
        return None
    if not isinstance(place, dict) or set(place) != {"head", "index", "path"} or not isinstance(place["path"], list):
        raise Fault("proof-malformed", "a head with index and path")
    index, path = count_of(place["index"]), [hash_of_hex(step) for step in place["path"]]
    if index is None or None in path or len(path) > MOST_HASHES:
        raise Fault("proof-malformed", "index and path of a head")
    entry = canonical(place["head"])
    head = read_entry(entry)
    if head["kind"] != "head":
        raise Fault("entry-kind-unknown", head["kind"])
    return head, index, path, leaf_hash(entry)


def check_head_proof(data, tenant, stream, head_count, heads_root):
    """The head of the stream, or None where the proof is that there is no such stream."""
    proof = canonical_value(data)
    names = {"after", "before", "count", "found", "kind", "v"}
    if not isinstance(proof, dict) or set(proof) != names or (proof["kind"], str(proof["v"])) != ("head-proof", "1") or isinstance(proof["v"], str):
        raise Fault("proof-malformed", "count, found, before, after")
    count = count_of(proof["count"])
    if count is None:
        raise Fault("proof-malformed", "count")
    found, before, after = (_placed(proof[name]) for name in ("found", "before", "after"))
    if count != head_count:
        raise Fault("head-neighbours", f"{count} heads, the anchor has {head_count}")
    if found:
        if before or after:
            raise Fault("head-neighbours", "a presence has no neighbours")
        if (found[0]["tenant"], found[0]["stream"]) != (tenant, stream):
            raise Fault("head-differs", found[0]["stream"])
        check_inclusion(found[1], count, found[2], found[3], heads_root)
        return found[0]
    if count == 0:
        if before or after:
            raise Fault("head-neighbours", "an empty map has no heads")
        if heads_root != EMPTY_ROOT:
            raise Fault("proof-root-differs", "not the root of an empty map")
        return None
    if not (before or after) or (before[1] if before else -1) + 1 != (after[1] if after else count):
        raise Fault("head-neighbours", "not side by side")
    key = head_key(tenant, stream)
    if (before and head_key(before[0]["tenant"], before[0]["stream"]) >= key) or (after and head_key(after[0]["tenant"], after[0]["stream"]) <= key):
        raise Fault("head-present", "the neighbours are not before and after")
    for place in (before, after):
        if place:
            check_inclusion(place[1], count, place[2], place[3], heads_root)
    return None


# --- Salted disclosures (RFC 9901, section 4.2) -----------------------------------------------------------------------

def disclosure_digest(text):
    return base64url(sha256(text.encode("ascii")))


def read_disclosure(text):
    """Salt, name and value of a disclosure."""
    data = base64url_bytes(text) if len(text) <= LONGEST_DISCLOSURE else None
    if data is None:
        raise Fault("disclosure-malformed", "base64url")
    canonical_json(data)
    parts = json_value(data)
    if not isinstance(parts, list) or len(parts) != 3 or not all(isinstance(part, str) for part in parts):
        raise Fault("disclosure-malformed", "three strings")
    return parts


# --- A dossier (docs/dossier.md) --------------------------------------------------------------------------------------

TENANT = "*DEFAULT*"
LARGEST_DOSSIER = 64 * 1024 * 1024


def read_zip(path):
    """The files of a dossier by name."""
    try:
        with zipfile.ZipFile(path) as archive:
            infos = archive.infolist()
            names = [info.filename for info in infos]
            if len(infos) > 1000 or sum(info.file_size for info in infos) > LARGEST_DOSSIER:
                raise Fault("too-large", "more than a dossier may hold")
            if len(set(names)) != len(names) or any(not re.fullmatch(r"[A-Za-z0-9._-]+(/[A-Za-z0-9._-]+)*", name, re.ASCII) or ".." in name for name in names):
                raise Fault("name-refused", "a name that a dossier does not have")
            return {info.filename: archive.read(info) for info in infos}
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, RuntimeError, zlib.error, ValueError, struct.error):
        raise Fault("not-a-dossier", "not a whole ZIP archive") from None


def check_manifests(files):
    for manifest in ("tagmanifest-sha256.txt", "manifest-sha256.txt"):
        if manifest not in files:
            raise Fault("file-missing", manifest)
        named = set()
        for line in utf8(files[manifest], "manifest-malformed").split("\n"):
            if not line:
                continue
            digest, name = line[:64], line[66:]
            if line[64:66] != "  " or name in named:
                raise Fault("manifest-malformed", manifest)
            named.add(name)
            if name not in files:
                raise Fault("file-missing", name)
            if sha256(files[name]).hex() != digest:
                raise Fault("file-altered", name)
    extra = [name for name in files if name.startswith("data/") and name not in named]
    if extra:
        raise Fault("file-added", extra[0])


def file_of(files, name):
    if name not in files:
        raise Fault("file-missing", name)
    return files[name]


def lines_of(data, name):
    if data and not data.endswith(b"\n"):
        raise Fault("dossier-malformed", name)
    return data.split(b"\n")[:-1]


def event_of(line, name):
    """Entry, payload and headers of an event line, as canonical bytes."""
    event = canonical_value(line)
    if not isinstance(event, dict) or set(event) != {"entry", "headers", "payload"}:
        raise Fault("dossier-malformed", name)
    return canonical(event["entry"]), canonical(event["payload"]), canonical(event["headers"]), event["payload"]


def check_stream(stream, events, head_proof, anchor):
    """That these are all events of the stream under the anchor, each as it was sealed."""
    head = check_head_proof(head_proof, TENANT, stream, anchor["headCount"], anchor["heads"])
    previous = ZERO
    for version, (entry, payload, headers, _) in enumerate(events, 1):
        fields = read_entry(entry)
        place = f"{stream} version {version}"
        if fields["kind"] != "event" or fields["stream"] != stream or count_of(fields["ver"]) != version:
            raise Fault("event-out-of-place", place)
        if fields["log"] != anchor["log"] or fields["tenant"] != TENANT:
            raise Fault("origin-differs", place)
        if fields["data"] != sha256(payload).hex():
            raise Fault("payload-altered", place)
        if fields["meta"] != sha256(headers).hex():
            raise Fault("headers-altered", place)
        if fields["prev"] != previous.hex():
            raise Fault("chain-broken", place)
        previous = leaf_hash(entry)
    if (count_of(head["ver"]) if head else 0) != len(events) or (head and head["leaf"] != previous.hex()):
        raise Fault("events-left-out", f"{stream}: {len(events)} events, the anchor has {head['ver'] if head else 0}")


def reference_streams(events):
    """The household, taxes and laws that the contract's events name, and the proposals they came from."""
    names = set()
    for entry, _, _, payload in events:
        if (read_entry(entry)["cmd"] or "").startswith("proposal:"):
            names.add(read_entry(entry)["cmd"])
        if read_entry(entry)["type"] == "signed":
            names.add("household:" + payload["household"])
        if read_entry(entry)["type"] in ("signed", "moved"):
            names.add("tax:" + payload["jurisdiction"])
            names.add("law:" + payload["state"])
    return sorted(names, key=lambda name: name.encode("utf-16-be"))


def check_heads(files, keys, head):
    """Earlier heads of the log, each continued by this one; their notes by size."""
    origin, size, root = head
    notes = {}
    for name in sorted(files):
        if not re.fullmatch(r"data/log/earlier/[0-9]+\.txt", name, re.ASCII):
            continue
        text, _ = open_note(files[name], keys)
        earlier = read_checkpoint(text)
        if earlier[0] != origin:
            raise Fault("origin-differs", name)
        lines = utf8(file_of(files, name[:-4] + ".proof"), "dossier-malformed").split("\n")
        path = [hash_of_base64(line) for line in lines[3:-1]]
        if lines[:3] != ["contracts/consistency@v1", f"from {earlier[1]}", f"to {size}"] or lines[-1] or None in path:
            raise Fault("dossier-malformed", name[:-4] + ".proof")
        check_consistency(earlier[1], size, path, earlier[2], root)
        notes[earlier[1]] = files[name]
    return notes


def check_month_end(files, keys, notes):
    """The closed month whose anchor is in one of the heads, or None."""
    if "data/log/month-end.json" not in files:
        return None
    entry = files["data/log/month-end.json"]
    fields = read_entry(entry)
    index, path, note = read_tlog_proof(file_of(files, "data/log/month-end.tlog-proof"))
    if fields["kind"] != "anchor" or fields["reason"] != "month-end":
        raise Fault("origin-differs", "data/log/month-end.json")
    if note not in notes:
        raise Fault("proof-root-differs", "data/log/month-end.tlog-proof")
    origin, size, root = read_checkpoint(open_note(note, keys)[0])
    if fields["log"] != origin:
        raise Fault("origin-differs", "data/log/month-end.json")
    check_inclusion(index, size, path, leaf_hash(entry), root)
    return fields["period"]


def check_papers(files, own):
    """Each paper in the dossier is one that was given out, with the bytes it had then."""
    digests = {f"data/papers/{version:04d}.html": payload["digest"] for version, (entry, _, _, payload) in enumerate(own, 1)
               if read_entry(entry)["type"] == "document_issued"}
    found = [name for name in files if name.startswith("data/papers/")]
    for name in found:
        if name not in digests:
            raise Fault("file-added", name)
        if sha256(files[name]).hex() != digests[name]:
            raise Fault("paper-altered", name)
    return len(found)


def check_disclosures(files, others):
    """Each fact about the family is one whose digest was recorded."""
    digests = {digest for entry, _, _, payload in others if read_entry(entry)["type"] == "household_described" for digest in payload["_sd"]}
    lines = lines_of(files.get("data/disclosures.txt", b""), "data/disclosures.txt")
    for line in lines:
        text = utf8(line, "disclosure-malformed")
        read_disclosure(text)
        if disclosure_digest(text) not in digests:
            raise Fault("disclosure-not-committed", "data/disclosures.txt")
    return len(lines)


def check_statement(files, keys, origin):
    """That the log's key has signed the digest of the tag manifest, and with it every file."""
    text, found = open_note(file_of(files, "statement.note"), keys)
    if text != f"contracts/dossier@v1\n{origin}\n{sha256(files['tagmanifest-sha256.txt']).hex()}\n":
        raise Fault("statement-differs", "statement.note was signed for other files")
    if origin not in [key.name for key in found]:
        raise Fault("signature-unknown", "statement.note")


def policy_keys(data):
    lines = [line.split() for line in utf8(data, "policy-malformed").split("\n")]
    keys = [Key(line[1]) for line in lines if len(line) > 1 and line[0] == "log"]
    if not keys or ["quorum", "none"] not in lines:
        raise Fault("policy-malformed", "log lines and `quorum none`; witnesses are for the other verifier")
    return keys


def verify_dossier(path, policy=None):
    """Checks a dossier and answers what holds, in sentences; figures are not made again here."""
    files = read_zip(path)
    check_manifests(files)
    request = canonical_value(file_of(files, "data/request.json"))
    if not isinstance(request, dict) or set(request) != {"by", "contract", "form", "known", "madeAt", "on", "purpose"}:
        raise Fault("dossier-malformed", "data/request.json")
    if request["form"] != 1:
        raise Fault("form-unknown", "this program reads dossiers of form 1")
    checkpoint = file_of(files, "data/log/checkpoint.txt")
    keys = policy_keys(policy if policy is not None else file_of(files, "data/policy.txt"))
    text, found = open_note(checkpoint, keys)
    origin, size, root = read_checkpoint(text)
    if origin not in [key.name for key in found]:
        raise Fault("origin-differs", origin)
    entry = file_of(files, "data/log/anchor.json")
    fields = read_entry(entry)
    if fields["kind"] != "anchor" or fields["log"] != origin:
        raise Fault("origin-differs", "the anchor")
    index, proof_path, note = read_tlog_proof(file_of(files, "data/log/anchor.tlog-proof"))
    if note != checkpoint:
        raise Fault("proof-root-differs", "the anchor's proof is of another head")
    check_inclusion(index, size, proof_path, leaf_hash(entry), root)
    anchor = {"log": origin, "headCount": count_of(fields["headCount"]), "heads": bytes.fromhex(fields["heads"])}
    own = [event_of(line, "data/events.jsonl") for line in lines_of(file_of(files, "data/events.jsonl"), "data/events.jsonl")]
    others = [event_of(line, "data/reference.jsonl") for line in lines_of(file_of(files, "data/reference.jsonl"), "data/reference.jsonl")]
    names = [request["contract"], *reference_streams(own)]
    proofs = lines_of(file_of(files, "data/log/heads.jsonl"), "data/log/heads.jsonl")
    if len(proofs) != len(names):
        raise Fault("events-left-out", "a stream has no proof")
    check_stream(names[0], own, proofs[0], anchor)
    used = 0
    for name, proof in zip(names[1:], proofs[1:]):
        events = [event for event in others if read_entry(event[0])["stream"] == name]
        used += len(events)
        check_stream(name, events, proof, anchor)
    if used != len(others):
        raise Fault("event-out-of-place", "an event of another stream")
    month = check_month_end(files, keys, [*check_heads(files, keys, (origin, size, root)).values(), checkpoint])
    papers, facts = check_papers(files, own), check_disclosures(files, others)
    check_statement(files, keys, origin)
    lines = [f"{origin} has signed a head of {size} leaves",
             f"the {len(own)} events of {names[0]} are in it, and none up to the anchor is left out",
             f"so are the {used} of the household, taxes and law packs that they name",
             "all files were put together by who holds the log's key"]
    if month:
        lines.append(f"the log continues what it was when {month} was closed")
    if papers:
        lines.append(f"{papers} papers have the bytes that were given out")
    if facts:
        lines.append(f"{facts} facts about the family are those that were recorded")
    if policy is None:
        lines.append("NOT proved: that the key is the shop's; it came with the dossier (give yours: --policy FILE)")
    lines.append("NOT proved here: the figures; `contracts verify` makes them again")
    return lines


def answer(path, policy=None):
    try:
        return 0, verify_dossier(path, policy)
    except Fault as fault:
        unsure = fault.kind in ("signature-unknown", "origin-differs", "form-unknown")
        return (2 if unsure else 1), [f"{'cannot tell' if unsure else 'ALTERED'} {fault.kind}: {fault.detail}"]
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError):
        return 1, ["ALTERED dossier-malformed: a file is not written as a dossier writes it"]


# --- Self-test: the same cases are put to both verifiers --------------------------------------------------------------

def _hashes(items):
    return [bytes.fromhex(item) for item in items]


def _nothing(_):
    return ""


CASES = {
    "json": lambda case: canonical_json(bytes.fromhex(case["in"])).hex(),
    "leaf": lambda case: leaf_hash(bytes.fromhex(case["in"])).hex(),
    "root": lambda case: tree_root(_hashes(case["leaves"])).hex(),
    "inclusion": lambda case: _nothing(check_inclusion(
        case["index"], case["size"], _hashes(case["path"]), bytes.fromhex(case["leaf"]), bytes.fromhex(case["root"]))),
    "consistency": lambda case: _nothing(check_consistency(
        case["old"], case["size"], _hashes(case["path"]), bytes.fromhex(case["oldRoot"]), bytes.fromhex(case["root"]))),
    "entry": lambda case: read_entry(bytes.fromhex(case["in"]))["kind"],
    "ed25519": lambda case: str(ed25519_holds(bytes.fromhex(case["key"]), bytes.fromhex(case["message"]), bytes.fromhex(case["signature"]))).lower(),
    "key": lambda case: Key(case["in"]).vkey,
    "note": lambda case: read_note(bytes.fromhex(case["in"]))[0],
    "checkpoint": lambda case: str(open_checkpoint(bytes.fromhex(case["in"]), Key(case["log"]), [Key(vkey) for vkey in case["others"]])[0]),
    "proof": lambda case: str(check_tlog_proof(bytes.fromhex(case["in"]), bytes.fromhex(case["leaf"]), Key(case["log"]))[1]),
    "heads": lambda case: head_map_root([read_entry(bytes.fromhex(head)) for head in case["heads"]]).hex(),
    "head": lambda case: str(check_head_proof(
        bytes.fromhex(case["in"]), case["tenant"], case["stream"], case["count"], bytes.fromhex(case["root"])) is not None).lower(),
    "disclosure": lambda case: "|".join(read_disclosure(case["in"])[1:] + [disclosure_digest(case["in"])]),
}


def selftest(lines, out):
    """Answers each case with {"ok": what came out} or {"fault": the word}."""
    for line in lines:
        case = json.loads(line)
        try:
            answer = {"ok": CASES[case["do"]](case)}
        except Fault as fault:
            answer = {"fault": fault.kind}
        out.write(json.dumps(answer) + "\n")


def main(arguments):
    if arguments == ["selftest"]:
        selftest(sys.stdin, sys.stdout)
        return 0
    if arguments == ["batch"]:
        # One path a line in, one word a line out: for many dossiers in one process.
        for line in sys.stdin:
            code, lines = answer(line.rstrip("\n"))
            sys.stdout.write(f"{code} {lines[0]}\n")
        return 0
    if len(arguments) == 1 or (len(arguments) == 3 and arguments[1] == "--policy"):
        policy = None
        if len(arguments) == 3:
            with open(arguments[2], "rb") as file:
                policy = file.read()
        code, lines = answer(arguments[0], policy)
        sys.stdout.write("\n".join(lines) + "\n")
        return code
    sys.stderr.write(__doc__)
    return 3


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
