// SPDX-License-Identifier: MIT
#include "guide/guide_words.h"

#include "base/memory.h"
#include "base/text.h"

#include <ctype.h>
#include <libstemmer.h>
#include <stdlib.h>
#include <string.h>

// --- words ---------------------------------------------------------------------

// One word of what is said: its stem ("hum" of "humming"), and the part of the sentence that it stands in.
typedef struct {
    char *stem;
    unsigned part;
} Word;

typedef struct {
    Word *words;
    size_t count;
} Words;

static bool is_among(const char *word, const char *const *list)
{
    while (*list && strcmp(word, *list) != 0)
        list++;
    return *list;
}

// Words that change nothing of a complaint.
static bool is_filler(const char *word)
{
    static const char *const fillers[] = {"a",    "an",     "the",    "my",     "his",   "her",   "its",   "our",
                                          "this", "that",   "it",     "it's",   "is",    "are",   "was",   "has",
                                          "very", "quite",  "really", "rather", "so",    "just",  "bit",   "little",
                                          "some", "always", "often",  "slight", "badly", "there", "seems", "slightly",
                                          "of",   "also",   "be",     "been",   NULL};
    return is_among(word, fillers);
}

static bool is_letter(char letter)
{
    return isalnum((unsigned char)letter) || (unsigned char)letter >= 0x80 || letter == '\'';
}

// Lower case, and the apostrophe of print (U+2019) as that of a keyboard. The caller frees it with free().
static char *plain_of(const char *text)
{
    char *plain = dw_memory_text(text), *to = plain;
    for (const char *from = text; *from; from++)
        if (strncmp(from, "\xe2\x80\x99", 3) == 0) {
            *to++ = '\'';
            from += 2;
        } else {
            *to++ = (char)tolower((unsigned char)*from);
        }
    *to = 0;
    return plain;
}

static void add_word(Words *words, const char *word, unsigned part, struct sb_stemmer *stemmer)
{
    const sb_symbol *stem = sb_stemmer_stem(stemmer, (const sb_symbol *)word, (int)strlen(word));
    words->words = dw_memory_resize(words->words, words->count + 1, sizeof *words->words);
    words->words[words->count++] = (Word){dw_memory_text(stem ? (const char *)stem : word), part};
}

static Words words_of(const char *text, struct sb_stemmer *stemmer)
{
    Words words = {0};
    unsigned part = 0;
    char *plain = plain_of(text);
    for (const char *at = plain; *at;) {
        size_t length = 0;
        while (is_letter(at[length]))
            length++;
        if (length) {
            char *word = dw_text_format("%.*s", (int)length, at);
            if (!is_filler(word))
                add_word(&words, word, part, stemmer);
            free(word);
        }
        at += length;
        part += *at && strchr(",.;:!?\n", *at);
        at += *at != 0;
    }
    free(plain);
    return words;
}

static void words_clear(Words *words)
{
    for (size_t i = 0; i < words->count; i++)
        free(words->words[i].stem);
    free(words->words);
    *words = (Words){0};
}

// --- what is heard -------------------------------------------------------------

// A phrase of a complaint, found in what was said; of no words where none was.
typedef struct {
    size_t sign, at, length; // in words of what was said
    size_t words;            // of the phrase itself
} Heard;

// How many words of SAID from place AT on are PHRASE, within one part of the sentence and with no more than one other
// word before each of its own; 0 where it does not stand there.
static size_t length_at(const Words *said, size_t at, const Words *phrase)
{
    size_t place = at;
    for (size_t i = 0; i < phrase->count; i++) {
        size_t last = i ? place + 1 : place;
        while (place < said->count && place <= last && strcmp(said->words[place].stem, phrase->words[i].stem) != 0)
            place++;
        if (place >= said->count || place > last || said->words[place].part != said->words[at].part)
            return 0;
        place++;
    }
    return place - at;
}

// Whether one of the two words before place AT denies what stands there: "no hum", but not "does not stop humming".
static bool is_denied(const Words *said, size_t at)
{
    static const char *const denials[] = {"no",     "not",    "never",  "without", "doesn't", "don't",  "isn't",
                                          "didn't", "wasn't", "aren't", "cannot",  "can't",   "hardli", NULL};
    static const char *const nothing_denied[] = {"only", "stop", NULL};
    for (size_t back = 1; back <= 2 && back <= at; back++) {
        const Word *before = &said->words[at - back];
        if (before->part != said->words[at].part || is_among(before->stem, nothing_denied))
            return false;
        if (is_among(before->stem, denials))
            return true;
    }
    return false;
}

// Hears PHRASE in SAID: HEARD is then the longest that is not denied.
static void hear_phrase(const char *phrase, const Words *said, struct sb_stemmer *stemmer, Heard *heard)
{
    Words words = words_of(phrase, stemmer);
    for (size_t place = 0; place < said->count && words.count > heard->words; place++) {
        size_t length = length_at(said, place, &words);
        if (length && !is_denied(said, place)) {
            heard->at = place;
            heard->length = length;
            heard->words = words.count;
        }
    }
    words_clear(&words);
}

// The longest of PHRASES, parted by semicolons, that is said and not denied.
static Heard hear(size_t sign, const DwGuideTexts *phrases, const Words *said, struct sb_stemmer *stemmer)
{
    Heard heard = {.sign = sign};
    for (size_t i = 0; i < phrases->count; i++)
        for (const char *at = phrases->texts[i]; *at;) {
            size_t length = strcspn(at, ";");
            char *text = dw_text_format("%.*s", (int)length, at);
            hear_phrase(text, said, stemmer, &heard);
            free(text);
            at += length + (at[length] == ';');
        }
    return heard;
}

// Whether A lies within a longer phrase of another complaint: "dead" within "one channel is dead".
static bool is_within(const Heard *a, const Heard *all, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (all[i].words > a->words && all[i].at <= a->at && all[i].at + all[i].length >= a->at + a->length)
            return true;
    return false;
}

// What is heard of WORDS, into HEARD with room for all complaints, by their phrases or by what they are perhaps.
static size_t hear_all(const DwGuideKnowledge *knowledge, const char *words, bool perhaps, Heard *heard)
{
    size_t count = 0, kept = 0;
    struct sb_stemmer *stemmer = sb_stemmer_new("english", "UTF_8");
    Words said = words_of(words, stemmer);
    for (size_t i = 0; i < knowledge->symptom_count; i++) {
        const DwGuideSign *sign = &knowledge->signs[i];
        heard[count] = hear(i, perhaps ? &sign->perhaps : &sign->phrases, &said, stemmer);
        count += heard[count].length > 0;
    }
    Heard *all = dw_memory_new(count + 1, sizeof *all);
    memcpy(all, heard, count * sizeof *all);
    for (size_t i = 0; i < count; i++)
        if (!is_within(&all[i], all, count))
            heard[kept++] = all[i];
    free(all);
    words_clear(&said);
    sb_stemmer_delete(stemmer);
    return kept;
}

static DwStatus refuse(const DwGuideKnowledge *knowledge, const char *words, Heard *heard, DwMessage *message)
{
    size_t count = hear_all(knowledge, words, true, heard);
    DwText which = {0};
    for (size_t i = 0; i < count; i++)
        dw_text_add(&which, " %s", knowledge->signs[heard[i].sign].ask);
    DwStatus status =
        count ? dw_fail(message, DW_BAD_INPUT, "'%s' can mean several things. Say which:%s", words, which.chars)
              : dw_fail(message, DW_BAD_INPUT,
                        "'%s' says no complaint that the guide knows. Did it smoke, get wet or hot, give a shock, or "
                        "is its cord or fuse damaged, keep it unplugged. Choose from the list of complaints, or say "
                        "it otherwise, as in: sounds slow; hums; skips.",
                        words);
    dw_text_clear(&which);
    return status;
}

DwStatus dw_guide_case_say(DwGuideCase *guide_case, const char *words, DwMessage *message)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    Heard *heard = dw_memory_new(knowledge->symptom_count + 1, sizeof *heard);
    size_t count = hear_all(knowledge, words, false, heard);
    for (size_t i = 0; i < count; i++)
        dw_guide_case_answer(guide_case, heard[i].sign, DW_GUIDE_YES);
    DwStatus status = count ? DW_OK : refuse(knowledge, words, heard, message);
    free(heard);
    return status;
}
