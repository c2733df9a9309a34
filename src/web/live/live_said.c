// SPDX-License-Identifier: MIT
// The words that the live page's scripts say, translated.
#include "chart/draw/number.h"
#include "web/live/pages.h"
#include "web/server/words.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *key, *words;
} said[] = {
    {"frozen", N_("Frozen %s. The bench goes on listening.")},
    {"freeze", N_("Freeze")},
    {"goOn", N_("Go on")},
    {"away", N_("The bench cannot be reached. Nothing here is of now.")},
    {"turn", N_("off nominal, over the last turn")},
    {"now", N_("off nominal, just now")},
    {"turnRpm", N_("over the last turn")},
    {"nowRpm", N_("just now")},
    {"running", N_("Listening: %s")},
    {"notClipped", N_("not clipped")},
    {"clipped", N_("%s samples clipped: turn the gain down")},
    {"inPhase", N_("in phase")},
    {"opposed", N_("one channel opposed")},
    {"clockwise", N_("turn clockwise, seen from the front")},
    {"anticlockwise", N_("turn anticlockwise, seen from the front")},
    {"upright", N_("upright within what can be told")},
    {"left", N_("Left")},
    {"mono", N_("One channel")},
    {"noTurn", N_("No turn was heard yet.")},
    {"raster", N_("%s turns heard; the speed kept within %s to %s per cent of nominal.")},
    {"speech", N_("Speed %s per cent off. Weighted flutter %s per cent.")},
    {"clock", N_("The input's clock is off by %s ± %s ppm. ")},
    {"latency", N_("Sound to screen %s ms.")},
    {"toRpm", N_("Show rpm")},
    {"toPercent", N_("Show per cent")},
    {"ago", N_("%s s old. ")},
    {"nothing", N_("nothing heard")},
    {"strongest", N_("strongest at %s Hz")},
    {"noLine", N_("no line stands out of the noise")},
    {"measuring", N_("Measuring what was heard…")},
    {"before", N_("The %s s before the input was away")},
    {"large", N_("Large")},
    {"small", N_("Back to all")},
    {"beep", N_("Beep when within")},
    {"beeps", N_("Stop the beep")},
    {"noLimit", N_("No limit is known: state the class of the deck before the start.")},
    {"fast", N_("The marks drift to the right: fast. Turn the trimmer until they stand.")},
    {"slow", N_("The marks drift to the left: slow. Turn the trimmer until they stand.")},
    {"still", N_("The marks stand: the speed is right.")},
    {"noDrift", N_("No speed of now.")},
    {"course", N_("In the last %s min the speed kept within %s to %s per cent of nominal.")},
    {"noCourse", N_("Nothing was heard yet.")},
    {"spectrum", N_("The strongest flutter is at %s Hz: %s per cent%s.")},
    {"noSpectrum", N_("It takes some turns of a steady tone.")},
    {"held", N_("%s s are held of what was heard. They can be kept below. Start takes their place.")},
    {"onceTurn", N_("once a turn: the record or the platter")},
    {"twiceTurn", N_("twice a turn")},
    {"or", N_("%s or %s")},
    {"part platter", N_("platter")},
    {"part record", N_("record")},
    {"part belt", N_("belt")},
    {"part motor", N_("motor")},
    {"part idler", N_("idler")},
    {"part pole", N_("motor poles")},
    {"part tacho", N_("speed sensor")},
    {"part mains", N_("mains")},
    {"part unknown", N_("no part that is described")},
    {"part cogging", N_("cogging")},
    {"part commutation", N_("commutation")},
    {"part slots", N_("slots")},
    {"part poles", N_("poles")},
    {"part part of the cogging", N_("a part of the cogging")},
    {"part electrical rate", N_("electrical rate")},
    {"part slip beat", N_("slip beat")},
};

void dw_live_said_write(DwHtml *html)
{
    json_t *words = json_object();
    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
        json_object_set_new(words, said[i].key, json_string(dw_words(said[i].words)));
    DwNumber half = dw_number_print(0.5, 1, false); // its middle is the user's own decimal mark
    json_object_set_new(words, "point", json_stringn(half.text + 1, strlen(half.text) - 2));
    char *text = json_dumps(words, JSON_COMPACT);
    json_decref(words);
    dw_html_element(html, "div", "", "id", "live-words", "hidden", DW_HTML_BARE, "data-words", text, NULL);
    free(text);
}
