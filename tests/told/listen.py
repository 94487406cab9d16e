"""Listens to spoken answers with two recognisers, for the test `told`.

    python listen.py EAR < questions.json > heard.json

Questions are a list of {"wav": path, "pieces": [...]}. A piece is a text that is said anyway, or a list of
values, the first of which is said. Each sentence is decoded by a grammar of its pieces, every list a free
choice. The answer for each is {"first": the sentence that fitted best, "" where none did, "second": null}.
Where the first recogniser heard something else than was said, the second one is asked which of the two it
was, and "second" is its choice.

First: PocketSphinx 5.1.1 with the English model and dictionary that its package carries; it shares no code,
model or weights with the program's own ear. It mishears some teens and tens of espeak-ng's voice.
Second: CTranslate2's Whisper on the weights in the folder EAR; its arithmetic, its features (numpy) and its
way of choosing are not the program's own, its weights are.
"""

import json
import pathlib
import sys
import wave

import ctranslate2
import numpy
from pocketsphinx import Decoder

RATE_HZ = 16_000

# Words of the trade that the dictionary doesn't have, in its own phones (CMUdict).
PRONOUNCED = {
    "threadlocker": "TH R EH D L AA K ER",
}


def samples(path):
    """16 kHz, −1 to 1: what both models were made for. Resampled by its spectrum, so nothing is folded back."""
    with wave.open(path) as file:
        rate = file.getframerate()
        sound = numpy.frombuffer(file.readframes(file.getnframes()), dtype="<i2").astype(float)
    length = round(len(sound) * RATE_HZ / rate)
    sound = numpy.fft.irfft(numpy.fft.rfft(sound)[: length // 2 + 1], length)
    sound *= 0.6 / max(1e-9, numpy.abs(sound).max())
    silence = numpy.zeros(RATE_HZ * 3 // 10)
    return numpy.concatenate([silence, sound, silence])


def grammar(pieces):
    parts = [piece if isinstance(piece, str) else "(" + " | ".join(piece) + ")" for piece in pieces]
    return "#JSGF V1.0;\ngrammar told;\npublic <sentence> = " + " ".join(parts) + ";\n"


# Beams so wide that next to nothing is dropped on the way: what fits best wins, not what began best.
decoder = Decoder(
    lm=None, loglevel="FATAL", bestpath=False, beam=1e-200, wbeam=1e-150, pbeam=1e-200, maxhmmpf=-1
)
questions = json.load(sys.stdin)
words = {
    word
    for question in questions
    for piece in question["pieces"]
    for text in ([piece] if isinstance(piece, str) else piece)
    for word in text.split()
}
for word in sorted(words):
    if decoder.lookup_word(word) is None:
        decoder.add_word(word, PRONOUNCED[word], True)



class Whisper:
    """Which of two sentences was said, by the log-probability of each given the sound."""

    START = [50257, 50362]  # start of transcript, no timestamps
    END = 50256

    def __init__(self, folder):
        model = json.loads((folder / "tokenizer.json").read_text())["model"]
        self.numbers = model["vocab"]
        pairs = [tuple(pair.split(" ")) if isinstance(pair, str) else tuple(pair) for pair in model["merges"]]
        self.rank = {pair: rank for rank, pair in enumerate(pairs)}
        self.model = ctranslate2.models.Whisper(str(folder), device="cpu", compute_type="float32")

    def tokens(self, text):
        """Byte-pair encoding of plain words; a space before a word is written Ġ in the vocabulary."""
        all = []
        for word in text.split():
            pieces = list("Ġ" + word)
            while len(pieces) > 1:
                ranks = [self.rank.get(pair, len(self.rank)) for pair in zip(pieces, pieces[1:])]
                at = ranks.index(min(ranks))
                if ranks[at] == len(self.rank):
                    break
                pieces[at : at + 2] = [pieces[at] + pieces[at + 1]]
            all += [self.numbers[piece] for piece in pieces]
        return all

    def encoded(self, sound):
        """Log-mel features as the model was trained with: 80 Slaney bands, 25 ms windows each 10 ms, 30 s."""
        thirty = numpy.zeros(30 * RATE_HZ)
        thirty[: len(sound)] = sound[: len(thirty)]
        padded = numpy.pad(thirty, 200, mode="reflect")
        frames = numpy.lib.stride_tricks.sliding_window_view(padded, 400)[::160][:3000]
        power = numpy.abs(numpy.fft.rfft(frames * numpy.hanning(401)[:-1])) ** 2
        mel = numpy.log10(numpy.maximum(self.bands() @ power.T, 1e-10))
        mel = (numpy.maximum(mel, mel.max() - 8) + 4) / 4
        view = numpy.ascontiguousarray(mel[None].astype(numpy.float32))
        return self.model.encode(ctranslate2.StorageView.from_array(view))

    @staticmethod
    def bands():
        """Triangles on Slaney's scale: 3/200 mel a hertz up to 1 kHz, 27 mel for each factor 6.4 above."""

        def hertz(mel):
            return numpy.where(mel < 15, mel * 200 / 3, 1000 * numpy.exp((mel - 15) * numpy.log(6.4) / 27))

        top = 15 + numpy.log(8) * 27 / numpy.log(6.4)
        edges = hertz(numpy.linspace(0, top, 82))
        bins = numpy.fft.rfftfreq(400, 1 / RATE_HZ)
        low, middle, high = edges[:-2, None], edges[1:-1, None], edges[2:, None]
        rising, falling = (bins - low) / (middle - low), (high - bins) / (high - middle)
        return numpy.maximum(0, numpy.minimum(rising, falling)) * 2 / (high - low)

    def log_probability(self, encoded, text):
        tokens = self.tokens(text)
        result = self.model.generate(
            encoded,
            [self.START + tokens],
            beam_size=1,
            max_length=len(tokens) + 3,
            suppress_blank=False,
            suppress_tokens=[],
            return_logits_vocab=True,
        )[0]
        total = 0.0
        for token, logits in zip(tokens + [self.END], result.logits[0]):
            logits = numpy.array(logits, dtype=numpy.float64)
            total += logits[token] - logits.max() - numpy.log(numpy.exp(logits - logits.max()).sum())
        return total

    def choose(self, sound, sentences):
        encoded = self.encoded(sound)
        return max(sentences, key=lambda text: self.log_probability(encoded, text))


whisper = None
heard = []
for question in questions:
    sound = samples(question["wav"])
    decoder.add_jsgf_string("told", grammar(question["pieces"]))
    decoder.activate_search("told")
    decoder.start_utt()
    decoder.process_raw((sound * 32_767).astype("<i2").tobytes(), full_utt=True)
    decoder.end_utt()
    best = decoder.hyp()
    first = best.hypstr if best else ""
    said = " ".join(piece if isinstance(piece, str) else piece[0] for piece in question["pieces"])
    second = None
    if first and first != said:
        whisper = whisper or Whisper(pathlib.Path(sys.argv[1]))
        second = whisper.choose(sound, [first, said])
    heard.append({"first": first, "second": second})
json.dump(heard, sys.stdout)
