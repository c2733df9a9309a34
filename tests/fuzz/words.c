// SPDX-License-Identifier: MIT
// A language's catalogue: the file itself, or what it makes of a sentence, as the first byte says.
#include "base/tongue.h"
#include "base/words_file.h"
#include "target.h"

#include <stdio.h>
#include <unistd.h>

static void read_file(const uint8_t *bytes, size_t count)
{
    char path[] = "/tmp/deckwright-words-XXXXXX";
    int file = mkstemp(path);
    TARGET_HOLDS(file >= 0 && write(file, bytes, count) == (ssize_t)count);
    close(file);
    DwWordsFile *words = dw_words_file_open(path);
    static const char *const texts[] = {"", "Caution", "%s: %zu bands.", "zzz"};
    for (size_t i = 0; words && i < sizeof texts / sizeof *texts; i++)
        TARGET_HOLDS(strlen(dw_words_file_find(words, texts[i])) <= count + strlen(texts[i]));
    dw_words_file_free(words);
    unlink(path);
}

static const char *translation(const void *context, const char *text)
{
    (void)text;
    return context;
}

__attribute__((format(printf, 2, 3))) static void say(const char *text, const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    const DwTongue tongue = {.say = translation, .context = text, .mark = ","};
    char *said = dw_say_in(&tongue, pattern, arguments);
    TARGET_HOLDS(said);
    free(said);
    va_end(arguments);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    if (count == 0)
        return 0;
    if (bytes[0] == '0') {
        read_file(bytes + 1, count - 1);
        return 0;
    }
    char *text = target_text(bytes + 1, count - 1);
    say(text, "%s: %.*s is %+.2f %s of %zu, %lld %%.", "a", 2, "bcd", 1.25, "mm", (size_t)7, 8LL);
    say(text, "%d of %d", 1, 2);
    free(text);
    return 0;
}
