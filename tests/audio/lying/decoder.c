// SPDX-License-Identifier: MIT
// A decoder that was taken over: it answers as one does, but for what the name of the recording asks it to lie about.
#include "audio/decode_answer.h"
#include "base/box.h"

#include <stdlib.h>
#include <string.h>

static bool answer(uint32_t kind, uint32_t count, const char *words, size_t length)
{
    DwDecodeAnswer said = {
        .mark = DW_ANSWER_MARK, .kind = kind, .count = count, .channels = 2, .length = -1, .rate_hz = 48000};
    memcpy(said.words, words, length);
    return dw_box_write(&said, sizeof said);
}

// Bytes with their zeros, of a literal.
#define REMARK(count, words) answer(DW_ANSWER_REMARK, count, words, sizeof(words))

static void remark(const char *lie)
{
    static char endless[DW_ANSWER_WORDS];
    memset(endless, 'x', sizeof endless);
    if (strcmp(lie, "true") == 0)
        REMARK(1, "It has 6 channels.\0It has %u channels.\0"
                  "6");
    else if (strcmp(lie, "few-parts") == 0)
        REMARK(3, "It has 6 channels.\0It has %u channels.\0"
                  "6");
    else if (strcmp(lie, "many-parts") == 0)
        REMARK(4000000000u, "It has 6 channels.\0It has %u channels.\0"
                            "6");
    else if (strcmp(lie, "bad-place") == 0)
        REMARK(1, "It has 6 channels.\0It has %n channels.\0"
                  "6");
    else if (strcmp(lie, "other-places") == 0)
        REMARK(1, "It has 6 channels.\0It has %s%s%s channels.\0"
                  "6");
    else if (strcmp(lie, "no-end") == 0)
        answer(DW_ANSWER_REMARK, DW_ANSWER_PARTS_MOST, endless, sizeof endless);
    else if (strcmp(lie, "phrase") == 0)
        REMARK(1, "It has \1%s%s\3 channels.\0It has %s channels.\0"
                  "\1%s%s\2x\3");
    else if (strcmp(lie, "block") == 0)
        answer(DW_ANSWER_BLOCK, 1, "", 1);
    for (unsigned i = 0; strcmp(lie, "hundreds") == 0 && i < 300 && REMARK(0, "Again."); i++)
        continue;
}

int main(int count, char **arguments)
{
    const char *path = count > 2 ? arguments[2] : "", *lie = strrchr(path, '/') ? strrchr(path, '/') + 1 : path;
    if (!answer(DW_ANSWER_FACTS, strcmp(lie, "hundreds") == 0 ? 300 : 1, "WAV", 4))
        return EXIT_FAILURE;
    remark(lie);
    answer(DW_ANSWER_END, 0, "", 1);
    return EXIT_SUCCESS;
}
