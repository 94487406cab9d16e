"""Speaks phrases with a Piper voice, many in one process, because loading the voice takes longest.

Reads one JSON object a line: {"text": …, "out": FILE.wav, "stretch": 1.0}; writes each file and then
prints its path. All noise is off, so that the same words always give the same samples.

    python speak_neural.py VOICE.onnx < phrases.jsonl
"""

import json
import sys
import wave

from piper import PiperVoice, SynthesisConfig


def main() -> None:
    voice = PiperVoice.load(sys.argv[1])
    for line in sys.stdin:
        phrase = json.loads(line)
        text = phrase["text"]
        # Without an end of the sentence the last word is left hanging.
        if text[-1] not in ".?!":
            text += "."
        settings = SynthesisConfig(
            length_scale=phrase["stretch"], noise_scale=0.0, noise_w_scale=0.0
        )
        with wave.open(phrase["out"], "wb") as out:
            voice.synthesize_wav(text, out, syn_config=settings)
        print(phrase["out"], flush=True)


if __name__ == "__main__":
    main()
