"""Plain words that lead to palettes, besides their names and occasions."""

from __future__ import annotations

from collections.abc import Mapping

PALETTE_WORDS: Mapping[str, tuple[str, ...]] = {
    name: tuple(word.strip() for word in words.split(","))
    for name, words in {
        "candlelight": "warm, cosy, cozy, candle, amber, gold, golden",
        "lamp-white": "white, warm white, plain, porch, lamp",
        "moonlit": "blue, moon, moonlight, night, cool",
        "spectrum": "rainbow, all colours, colourful, every colour, multicolour",
        "ember": "fire, flame, flames, hot, autumn, fall, embers",
        "frost": "ice, snow, icy, winter, cold, frozen",
        "northern-sky": "aurora, northern lights, polar",
        "midnight-toast": "nye, new year, champagne, silvester, sylvester",
        "red-packet": "chinese new year, lunar, spring festival, tet, seollal",
        "love-letter": "valentine, valentines, love, hearts, pink, romance",
        "masked-parade": "mardi gras, carnival, fasching, karneval",
        "colour-powder": "holi",
        "clover-hill": "saint patrick, st patrick, paddy, irish, shamrock, green",
        "sprouting-wheat": "nowruz, persian new year, spring",
        "egg-hunt": "easter, eggs, bunny, pastel",
        "first-cup": "passover, pesach, seder",
        "new-crescent": "ramadan, eid, crescent",
        "water-garden": "songkran",
        "lotus-lamp": "vesak, buddha, lotus",
        "rainbow-street": "pride, lgbt, rainbow flag",
        "freedom-day": "juneteenth",
        "meadow-wreath": "midsummer, solstice, summer",
        "maple-leaf": "canada, canadian, red and white",
        "three-cheers": "usa, america, american, fourth, 4th of july, july 4th, july, "
        "independence, patriotic, red white and blue",
        "tricolour": "france, french, bastille",
        "floating-lantern": "obon, lanterns",
        "full-moon": "mid autumn, chuseok, mooncake, harvest moon",
        "nine-nights": "navaratri, durga, navratri",
        "row-of-lamps": "diwali, deepavali, lamps",
        "jack-o-lantern": "halloween, pumpkin, spooky, orange, trick or treat, purple",
        "marigold-altar": "day of the dead, dia de los muertos, muertos",
        "bonfire": "guy fawkes, bonfire night",
        "lantern-walk": "saint martin, st martin, martinmas",
        "harvest-table": "thanksgiving, turkey, harvest",
        "crown-of-candles": "lucia, saint lucy, santa lucia",
        "eight-nights": "hanukkah, chanukah, menorah",
        "fir-and-berry": "christmas, xmas, noel, yule, santa, red and green, advent",
        "seven-candles": "kwanzaa",
    }.items()
}
