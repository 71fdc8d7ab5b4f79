"""The alarms by ear: what the browser would play is rendered and measured, sample by sample."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from browser.conftest import Screens
from browser.test_board import _log
from web_fixture import coat_entry

RATE = 44_100
# ISO 7731 wants the strongest part of a danger signal between 500 and 2,500 Hz (from memory).
LOWEST_HZ, HIGHEST_HZ = 495.0, 2_500.0  # what a whole pattern resolves is a few hertz
LEAST_RMS = 0.05  # of full scale: -26 dB; common practice, no source
KINDS = ("lag exceeded", "below demand before fire", "coat due", "look at it")
RENDER = """async (kind) => {
  const { pattern } = await import("/static/js/sound.js");
  const offline = new OfflineAudioContext(1, 2 * 44100, 44100);
  pattern(offline, kind, 0);
  return [...(await offline.startRendering()).getChannelData(0)];
}"""
# Whatever is sent to the loudspeaker also goes to a meter, which remembers the loudest moment.
METER = """
window.loudest = 0; window.contexts = 0;
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode && to.context instanceof AudioContext) {
    const meter = new AnalyserNode(to.context, { fftSize: 2048 });
    const samples = new Float32Array(2048);
    connect.call(this, meter);
    setInterval(() => {
      meter.getFloatTimeDomainData(samples);
      const square = samples.reduce((sum, one) => sum + one * one, 0) / samples.length;
      window.loudest = Math.max(window.loudest, Math.sqrt(square));
    }, 20);
  }
  return connect.call(this, to, ...more);
};
const Own = window.AudioContext;
window.AudioContext = class extends Own {
  constructor(...given) { super(...given); window.contexts += 1; window.context = this; }
};
"""


def _rendered(page: Page, kind: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.asarray(page.evaluate(RENDER, kind))


def _board(screens: Screens) -> Page:
    page = screens.open("/")
    page.add_init_script(METER)
    page.goto(f"{screens.served.address}/board")
    expect(page.locator(".face").first).to_be_visible()
    return page


@pytest.mark.parametrize("kind", KINDS)
def test_each_alarm_is_loud_and_pitched_to_be_heard(screens: Screens, kind: str) -> None:
    """Rendered to samples: loud enough, strongest where a danger signal should be, then silent."""
    samples = _rendered(screens.open("/"), kind)
    heard = np.flatnonzero(np.abs(samples) > 0.01)
    assert heard[0] < 0.01 * RATE, "it begins at once"
    sounding = samples[: heard[-1]]
    assert np.sqrt(np.mean(sounding**2)) > LEAST_RMS
    assert 0.3 < float(np.max(np.abs(samples))) <= 1.0, "loud, and never beyond full scale"
    strength = np.abs(np.fft.rfft(sounding))
    strongest_hz = np.fft.rfftfreq(sounding.size, 1.0 / RATE)[int(np.argmax(strength))]
    assert LOWEST_HZ < strongest_hz < HIGHEST_HZ
    assert 0.4 < heard[-1] / RATE < 1.9
    assert not np.any(samples[heard[-1] + RATE // 20 :] > 0.01), "it ends by itself"


def test_alarms_sound_unlike_each_other(screens: Screens) -> None:
    """No kind can be taken for another: their samples differ by more than half their loudness."""
    page = screens.open("/")
    found = [_rendered(page, kind) for kind in KINDS]
    for number, one in enumerate(found):
        for other in found[number + 1 :]:
            assert np.std(one - other) > 0.5 * np.std(one)


def test_nothing_plays_before_somebody_allows_it(screens: Screens) -> None:
    """An alarm is up and the page says that it is silent; after the press the same is heard."""
    page = _board(screens)
    says = page.locator("#sound-says")
    expect(says).to_contain_text("no sound until that is pressed")
    _log(screens.served, coat_entry(coat="1 mm"))
    expect(page.locator(".alarm")).to_be_visible()
    page.wait_for_timeout(300)
    assert page.evaluate("[window.loudest, window.contexts]") == [0, 0]
    page.locator("#sound").click()
    expect(says).to_contain_text("until somebody presses Heard")
    page.wait_for_function("least => window.loudest > least", arg=LEAST_RMS)
    page.locator("#sound").click()
    expect(says).to_contain_text("no sound until that is pressed")


def test_a_new_alarm_is_heard(screens: Screens) -> None:
    """With sound on and silent again, an alarm raised by somebody else's entry sends out sound."""
    page = _board(screens)
    page.locator("#sound").click()
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")
    page.wait_for_timeout(900)  # the sound that tells it is on has ended
    page.evaluate("window.loudest = 0")
    page.wait_for_timeout(200)
    assert page.evaluate("window.loudest") < 0.01
    _log(screens.served, coat_entry(coat="1 mm"))
    page.wait_for_function("least => window.loudest > least", arg=LEAST_RMS)


def test_sound_that_the_machine_takes_away_is_told(screens: Screens) -> None:
    """A call or a lock suspends it: the page says that alarms are silent, and when they are not."""
    page = _board(screens)
    page.locator("#sound").click()
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")
    page.evaluate("window.context.suspend()")
    expect(page.locator("#sound-says")).to_contain_text("has stopped the sound")
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "false")
    page.evaluate("window.context.resume()")
    expect(page.locator("#sound-says")).to_contain_text("until somebody presses Heard")


def test_a_browser_that_plays_nothing_says_so(screens: Screens) -> None:
    """Where sound is refused the page tells it, and the alarms stay in words."""
    page = screens.open("/")
    page.add_init_script("AudioContext.prototype.resume = async function () {};")
    page.add_init_script(
        "Object.defineProperty(AudioContext.prototype, 'state', { get: () => 'suspended' });"
    )
    page.goto(f"{screens.served.address}/board")
    page.locator("#sound").click()
    expect(page.locator("#sound-says")).to_contain_text("would not play sound")
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "false")
