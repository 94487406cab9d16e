"""Log-probabilities of given sentences by an independent implementation, for tests/it/whisper_reference.rs.

    python -m venv /tmp/reference && /tmp/reference/bin/pip install ctranslate2 faster-whisper
    /tmp/reference/bin/python whisper_logprobs.py MODEL_DIR > whisper_logprobs.json

MODEL_DIR holds the files of the default ear (model.bin, vocabulary.txt, tokenizer.json, config.json).
stands.wav was spoken by espeak-ng 1.51 (-v en-gb+m3 -s 165), brought to 16 kHz by sox.

The log-mel front end is faster-whisper's, the arithmetic CTranslate2's in float32. The sound is filled
up with zeros to the 30 seconds that the model was made for. CTranslate2 offers no forced scoring, so the
sentence is given as the beginning of the answer, and the logits of each of its tokens are read back.
"""

import json
import pathlib
import sys
import wave

import ctranslate2
import faster_whisper
import numpy
import tokenizers
from faster_whisper.feature_extractor import FeatureExtractor

SENTENCES = [
    " The van is on its stands and does not rock.",
    " the van is on its stands and does not rock",
    " The van is on its stands and does rock?",
    " What torque?",
    " wheel nuts tightened in the star to 140",
    " 21.4",
]
START = [50257, 50362]  # start of transcript, no timestamps
END = 50256

model_dir = pathlib.Path(sys.argv[1])
here = pathlib.Path(__file__).parent
with wave.open(str(here / "stands.wav")) as file:
    assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (16000, 1, 2)
    sound = numpy.frombuffer(file.readframes(file.getnframes()), dtype="<i2").astype(numpy.float32) / 32768

thirty = numpy.zeros(480_000, dtype=numpy.float32)
thirty[: len(sound)] = sound
mel = FeatureExtractor()(thirty, padding=0)[:, :3000].astype(numpy.float32)
tokenizer = tokenizers.Tokenizer.from_file(str(model_dir / "tokenizer.json"))
model = ctranslate2.models.Whisper(str(model_dir), device="cpu", compute_type="float32")
encoded = model.encode(ctranslate2.StorageView.from_array(numpy.ascontiguousarray(mel[None])))
states = numpy.array(encoded)[0]

sentences = []
for text in SENTENCES:
    tokens = tokenizer.encode(text, add_special_tokens=False).ids
    result = model.generate(
        encoded,
        [START + tokens],
        beam_size=1,
        max_length=448,
        suppress_blank=False,
        suppress_tokens=[],
        return_logits_vocab=True,
    )[0]
    logprobs = []
    for token, logits in zip(tokens + [END], result.logits[0][: len(tokens) + 1], strict=True):
        logits = numpy.array(logits, dtype=numpy.float64)
        normaliser = logits.max() + numpy.log(numpy.exp(logits - logits.max()).sum())
        logprobs.append(round(float(logits[token] - normaliser), 5))
    sentences.append({"text": text, "tokens": tokens, "logprobs": logprobs})

json.dump(
    {
        "source": "whisper_logprobs.py over stands.wav, filled up to 30 seconds",
        "versions": {"ctranslate2": ctranslate2.__version__, "faster-whisper": faster_whisper.__version__},
        # A few numbers on the way, so that a fault can be placed: mel[bin][frame], encoder[position][channel].
        "mel": [[b, f, round(float(mel[b, f]), 5)] for b in (0, 7, 40, 79) for f in (0, 1, 50, 120, 200, 2999)],
        "encoder": [[p, c, round(float(states[p, c]), 4)] for p in (0, 1, 60, 140, 1499) for c in (0, 100, 383)],
        "sentences": sentences,
    },
    sys.stdout,
    indent=1,
)
print()
