"""Hears files with PocketSphinx 5.1.1 and a grammar of the phrases that may be said.

Reads one JSON object a line: {"phrases": [...], "wav": FILE}; prints what was heard, one line each ("-": nothing).
A grammar is compiled once for all lines that hold the same phrases one after the other. Words that its
dictionary lacks are left out with their phrases: it could not hear them at all.
"""

import json
import sys
import wave

from pocketsphinx import Config, Decoder


def grammar(phrases, decoder):
    known = [p for p in phrases if all(decoder.lookup_word(word) for word in p.split())]
    return "#JSGF V1.0;\ngrammar g;\npublic <g> = " + " | ".join(f"( {p} )" for p in known) + ";\n"


def main() -> None:
    decoder = Decoder(Config(lm=None, loglevel="FATAL", bestpath=False))
    present = None
    for line in sys.stdin:
        job = json.loads(line)
        if job["phrases"] != present:
            present = job["phrases"]
            decoder.add_jsgf_string("g", grammar(present, decoder))
            decoder.activate_search("g")
        with wave.open(job["wav"]) as sound:
            samples = sound.readframes(sound.getnframes())
        decoder.start_utt()
        decoder.process_raw(samples, full_utt=True)
        decoder.end_utt()
        heard = decoder.hyp()
        print(heard.hypstr if heard and heard.hypstr else "-", flush=True)


if __name__ == "__main__":
    main()
