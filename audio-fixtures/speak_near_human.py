"""Speaks phrases with the near-human voices, many in one process, because loading the model takes longest.

Reads one JSON object a line: {"text": …, "out": FILE.wav, "voice": [["af_heart", 0.6], ["bm_george", 0.4]],
"speed": 1.0}; writes each file and then prints its path. "voice" may also be one name. A mixture pronounces words
as its first voice does: names that begin with "a" are American, with "b" British. Nothing is random, and one
thread adds up all sums in the same order, so that the same words always give the same samples.

    python speak_near_human.py FOLDER < phrases.jsonl

FOLDER holds model.onnx, symbols.json and voices/NAME.bin.
"""

import json
import re
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import onnxruntime

RATE_HZ = 24_000


def phonemes(text: str, british: bool) -> str:
    """What espeak-ng makes of the text in IPA, punctuation kept, in the symbols that the model learnt."""
    said = []
    # Punctuation makes the pauses, and espeak-ng prints none. A point inside a number is none.
    for piece in re.split(r"([;:,.!?—…]+)(?=\s|$)", text):
        if re.fullmatch(r"[;:,.!?—…]+", piece):
            said.append(piece + " ")
        elif piece.strip():
            said.append(ipa(piece.strip(), "en-gb" if british else "en-us"))
    found = "".join(said).strip()
    for espeak, learnt in {"ʲ": "j", "r": "ɹ", "x": "k", "ɬ": "l"}.items():
        found = found.replace(espeak, learnt)
    found = re.sub(r"(?<=[a-zɹː])(?=hˈʌndɹɪd)", " ", found)
    return found if british else re.sub(r"(?<=nˈaɪn)ti(?!ː)", "di", found)


def ipa(words: str, language: str) -> str:
    espeak = ["espeak-ng", "-q", "--ipa", "-v", language, "--stdin"]
    spoken = subprocess.run(espeak, input=words.encode(), stdout=subprocess.PIPE, check=True)
    return " ".join(spoken.stdout.decode().split())


class NearHuman:
    def __init__(self, folder: Path) -> None:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        self.session = onnxruntime.InferenceSession(
            folder / "model.onnx", options, providers=["CPUExecutionProvider"]
        )
        self.symbols = json.loads((folder / "symbols.json").read_text("utf-8"))["vocab"]
        self.voices = folder / "voices"

    def style(self, mixture: list, length: int) -> np.ndarray:
        """The mixture's embedding for a sentence of that many symbols."""
        style = np.zeros(256, np.float32)
        for name, share in mixture:
            path = self.voices / f"{name}.bin"
            if not path.is_file():
                known = ", ".join(sorted(voice.stem for voice in self.voices.iterdir()))
                sys.exit(f"there is no near-human voice {name}; there are {known}")
            lengths = np.fromfile(path, np.float32).reshape(-1, 256)
            style += np.float32(share) * lengths[min(length, len(lengths)) - 1]
        return style[np.newaxis]

    def speak(self, text: str, mixture: list, speed: float) -> np.ndarray:
        british = mixture[0][0].startswith("b")
        tokens = [self.symbols[p] for p in phonemes(text, british) if p in self.symbols]
        inputs = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": self.style(mixture, len(tokens)),
            "speed": np.array([speed], np.float32),
        }
        return self.session.run(None, inputs)[0].ravel()


def main() -> None:
    speaker = NearHuman(Path(sys.argv[1]))
    for line in sys.stdin:
        phrase = json.loads(line)
        text, voice = phrase["text"], phrase["voice"]
        # Without an end of the sentence the last word is left hanging.
        if text[-1] not in ".?!":
            text += "."
        mixture = [[voice, 1.0]] if isinstance(voice, str) else voice
        sound = speaker.speak(text, mixture, phrase["speed"])
        # Loud, but never clipped.
        samples = np.rint(sound * (30_000 / max(np.abs(sound).max(), 1e-6)))
        with wave.open(phrase["out"], "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(RATE_HZ)
            out.writeframes(samples.astype("<i2").tobytes())
        print(phrase["out"], flush=True)


if __name__ == "__main__":
    main()
