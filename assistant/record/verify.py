#!/usr/bin/env python3
"""Verifies an exported job by its documented format alone: python3 verify.py JOB.zip [PUBLIC-KEY-IN-HEX]"""
import base64, hashlib, json, pathlib, subprocess, sys, tempfile, zipfile

files = {f.filename: zipfile.ZipFile(sys.argv[1]).read(f) for f in zipfile.ZipFile(sys.argv[1]).infolist()}
sha = lambda data: hashlib.sha256(data).hexdigest()
manifest = json.loads(files.pop("manifest.json"))
assert manifest["files"] == {name: sha(data) for name, data in files.items()}, "not as the manifest says"
previous, signed, text = "", None, None
for seq, line in enumerate(files["journal.jsonl"].decode().splitlines()):
    e = json.loads(line)
    fields = [str(e[name]).encode() for name in ("job", "seq", "at", "kind", "event", "reached", "previous")]
    digest = sha(b"".join(len(field).to_bytes(8, "little") + field for field in fields))
    assert (e["job"], e["seq"], e["previous"], e["hash"]) == (manifest["job"], seq, previous, digest), f"entry {seq}"
    event, previous = json.loads(e["event"]), e["hash"]
    text = event.get("sha256", text)
    if e["kind"] == "signed" and event["key"] in (sys.argv[2:] or [event["key"]]):
        message = (f"sayback record signature 1\njob {e['job']}\nentries {seq}\nhead {e['previous']}\nat {e['at']}\n"
                   f"bay {event['bay']}\nprogram {event['program']}\n")
        folder = pathlib.Path(tempfile.mkdtemp())
        der = bytes.fromhex("302a300506032b6570032100" + event["key"])  # RFC 8410
        folder.joinpath("key").write_text(f"-----BEGIN PUBLIC KEY-----\n{base64.b64encode(der).decode()}\n-----END PUBLIC KEY-----\n")
        folder.joinpath("message").write_text(message), folder.joinpath("signature").write_bytes(bytes.fromhex(event["signature"]))
        subprocess.run(["openssl", "pkeyutl", "-verify", "-pubin", "-inkey", "key", "-rawin", "-in", "message", "-sigfile", "signature"],
                       cwd=folder, check=True, stdout=subprocess.DEVNULL)
        signed = f"{seq} of them signed by bay {event['bay']}, key {event['key']}"
for name, data in files.items():
    if name.startswith(("sounds/", "photos/")):
        assert sha(data) in name, name
    if name.startswith("procedures/"):
        parts = sorted(json.loads(data).items(), key=lambda part: part[0].encode())
        assert sha(b"".join(n.encode() + b"\0" + t.encode() + b"\0" for n, t in parts)) == text, name
print(f"{manifest['job']} is whole: {seq + 1} entries, {signed or 'unsigned'}")
