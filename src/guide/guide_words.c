// SPDX-License-Identifier: MIT
#include "guide/guide_words.h"

#include "base/memory.h"
#include "base/text.h"

#include <ctype.h>
#include <libstemmer.h>
#include <stdlib.h>
#include <string.h>

// --- words ---------------------------------------------------------------------

// One word of what is said: its stem ("hum" of "humming"), how long it was, and the part of the sentence that it stands
// in.
typedef struct {
    char *stem;
    size_t length;
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

// WORD, or what it is with the apostrophe that a hurried hand leaves out.
static const char *with_apostrophe(const char *word)
{
    static const char *const hurried[][2] = {
        {"wont", "won't"},   {"dont", "don't"},   {"doesnt", "doesn't"}, {"isnt", "isn't"},
        {"didnt", "didn't"}, {"wasnt", "wasn't"}, {"arent", "aren't"},   {"cant", "can't"},
    };
    for (size_t i = 0; i < sizeof hurried / sizeof *hurried; i++)
        if (strcmp(word, hurried[i][0]) == 0)
            return hurried[i][1];
    return word;
}

static void add_word(Words *words, const char *word, unsigned part, struct sb_stemmer *stemmer)
{
    const sb_symbol *stem = sb_stemmer_stem(stemmer, (const sb_symbol *)word, (int)strlen(word));
    words->words = dw_memory_resize(words->words, words->count + 1, sizeof *words->words);
    words->words[words->count++] = (Word){dw_memory_text(stem ? (const char *)stem : word), strlen(word), part};
}

// Whether WORD is "quite" with nothing after it that it could strengthen: "quiet" was meant.
static bool is_quiet(const char *word, const char *after)
{
    after += strspn(after, " ");
    return strcmp(word, "quite") == 0 && (!*after || strchr(",.;:!?\n", *after));
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
            const char *meant = is_quiet(word, at + length) ? "quiet" : with_apostrophe(word);
            if (!is_filler(meant))
                add_word(&words, meant, part, stemmer);
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

// --- words written wrong -------------------------------------------------------

enum { SHORT_WORD = 6 }; // letters; in a shorter word one wrong letter makes another word

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

// The phrases of one complaint, each as its words.
typedef struct {
    Words *phrases;
    size_t count;
} Phrases;

// What listens: the words of all phrases, whatever is then said.
struct DwGuideEar {
    const DwGuideKnowledge *knowledge;
    Phrases *plain, *perhaps; // of each complaint
    DwGuideTexts stems;       // each word of any phrase, in order; theirs
};

static struct sb_stemmer *stemmer_new(void)
{
    return sb_stemmer_new("english", "UTF_8");
}

// TEXTS by their phrases, which semicolons part.
static Phrases phrases_of(const DwGuideTexts *texts, struct sb_stemmer *stemmer)
{
    Phrases phrases = {0};
    for (size_t i = 0; i < texts->count; i++)
        for (const char *at = texts->texts[i]; *at;) {
            size_t length = strcspn(at, ";");
            char *text = dw_text_format("%.*s", (int)length, at);
            phrases.phrases = dw_memory_resize(phrases.phrases, phrases.count + 1, sizeof *phrases.phrases);
            phrases.phrases[phrases.count++] = words_of(text, stemmer);
            free(text);
            at += length + (at[length] == ';');
        }
    return phrases;
}

static void phrases_clear(Phrases *phrases)
{
    for (size_t i = 0; i < phrases->count; i++)
        words_clear(&phrases->phrases[i]);
    free(phrases->phrases);
}

static void add_stems(DwGuideTexts *stems, const Phrases *phrases)
{
    for (size_t i = 0; i < phrases->count; i++) {
        const Words *words = &phrases->phrases[i];
        stems->texts = dw_memory_resize(stems->texts, stems->count + words->count + 1, sizeof *stems->texts);
        for (size_t k = 0; k < words->count; k++)
            stems->texts[stems->count++] = words->words[k].stem;
    }
}

DwGuideEar *dw_guide_ear_new(const DwGuideKnowledge *knowledge)
{
    DwGuideEar *ear = dw_memory_new(1, sizeof *ear);
    struct sb_stemmer *stemmer = stemmer_new();
    ear->knowledge = knowledge;
    ear->plain = dw_memory_new(knowledge->symptom_count + 1, sizeof *ear->plain);
    ear->perhaps = dw_memory_new(knowledge->symptom_count + 1, sizeof *ear->perhaps);
    for (size_t i = 0; i < knowledge->symptom_count; i++) {
        ear->plain[i] = phrases_of(&knowledge->signs[i].phrases, stemmer);
        ear->perhaps[i] = phrases_of(&knowledge->signs[i].perhaps, stemmer);
        add_stems(&ear->stems, &ear->plain[i]);
        add_stems(&ear->stems, &ear->perhaps[i]);
    }
    if (ear->stems.count)
        qsort(ear->stems.texts, ear->stems.count, sizeof *ear->stems.texts, by_text);
    sb_stemmer_delete(stemmer);
    return ear;
}

void dw_guide_ear_free(DwGuideEar *ear)
{
    if (!ear)
        return;
    for (size_t i = 0; i < ear->knowledge->symptom_count; i++) {
        phrases_clear(&ear->plain[i]);
        phrases_clear(&ear->perhaps[i]);
    }
    free(ear->plain);
    free(ear->perhaps);
    free(ear->stems.texts);
    free(ear);
}

// Whether A and B are the same but for letters that stand twice in one of them ("chanel", "humm", "sloow"), and for the
// "e" that the stem of such a word may get ("skipe" of "skiping").
static bool is_same_but_doubled(const char *a, const char *b, bool shortened)
{
    while (*a && *a == *b) {
        char letter = *a;
        while (*a == letter)
            a++;
        while (*b == letter)
            b++;
    }
    return !*b && (!*a || (shortened && strcmp(a, "e") == 0));
}

// Whether WORD may be STEM with one letter wrong, left out, too many, or two changed about. The first is seldom wrong.
static bool is_miswritten(const Word *word, const char *stem)
{
    return is_same_but_doubled(word->stem, stem, word->length > strlen(word->stem)) ||
           (word->length >= SHORT_WORD && strlen(stem) >= SHORT_WORD - 1 && word->stem[0] == stem[0] &&
            dw_text_distance(word->stem, stem) == 1);
}

// A word that stands in no phrase becomes the one that it is most like.
static void mend_words(Words *said, const DwGuideTexts *stems)
{
    for (size_t i = 0; i < said->count; i++) {
        Word *word = &said->words[i];
        const char *right = NULL;
        if (stems->count && bsearch(&word->stem, stems->texts, stems->count, sizeof *stems->texts, by_text))
            continue;
        for (size_t k = 0; k < stems->count && !right; k++)
            right = is_miswritten(word, stems->texts[k]) ? stems->texts[k] : NULL;
        if (right) {
            free(word->stem);
            word->stem = dw_memory_text(right);
        }
    }
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

static bool is_denial(const char *stem)
{
    static const char *const denials[] = {"no",     "not",    "never",  "without", "doesn't", "don't",  "isn't",
                                          "didn't", "wasn't", "aren't", "cannot",  "can't",   "hardli", NULL};
    return is_among(stem, denials);
}

// Whether one of the two words before place AT denies what stands there: "no hum", but not "does not stop humming".
// What speaks of DANGER is denied by the word before it alone: "not turning, smokes" may lack its comma.
static bool is_denied(const Words *said, size_t at, bool danger)
{
    size_t reach = danger ? 1 : 2;
    static const char *const nothing_denied[] = {"only", "stop", NULL};
    for (size_t back = 1; back <= reach && back <= at; back++) {
        const Word *before = &said->words[at - back];
        if (before->part != said->words[at].part || is_among(before->stem, nothing_denied))
            return false;
        if (is_denial(before->stem))
            return true;
    }
    return false;
}

// Hears PHRASE in SAID: HEARD is then the longest that is not denied.
static void hear_phrase(const Words *phrase, const Words *said, bool danger, Heard *heard)
{
    for (size_t place = 0; place < said->count && phrase->count > heard->words; place++) {
        size_t length = length_at(said, place, phrase);
        if (length && !is_denied(said, place, danger)) {
            heard->at = place;
            heard->length = length;
            heard->words = phrase->count;
        }
    }
}

static bool is_danger(const DwGuideSign *sign)
{
    return sign->first_count > 0;
}

// The longest phrase of complaint SIGN, or of what it is PERHAPS, that is said and not denied.
static Heard hear(const DwGuideEar *ear, size_t sign, bool perhaps, const Words *said)
{
    Heard heard = {.sign = sign};
    const Phrases *phrases = perhaps ? &ear->perhaps[sign] : &ear->plain[sign];
    for (size_t i = 0; i < phrases->count; i++)
        hear_phrase(&phrases->phrases[i], said, is_danger(&ear->knowledge->signs[sign]), &heard);
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

static Words said_words(const char *words)
{
    struct sb_stemmer *stemmer = stemmer_new();
    Words said = words_of(words, stemmer);
    sb_stemmer_delete(stemmer);
    return said;
}

// What is heard of WORDS, into HEARD with room for all complaints, by their phrases or by what they are perhaps.
static size_t hear_all(const DwGuideEar *ear, const char *words, bool perhaps, Heard *heard)
{
    size_t count = 0, kept = 0;
    Words said = said_words(words);
    mend_words(&said, &ear->stems);
    for (size_t i = 0; i < ear->knowledge->symptom_count; i++) {
        heard[count] = hear(ear, i, perhaps, &said);
        count += heard[count].length > 0;
    }
    Heard *all = dw_memory_new(count + 1, sizeof *all);
    memcpy(all, heard, count * sizeof *all);
    for (size_t i = 0; i < count; i++)
        if (!is_within(&all[i], all, count))
            heard[kept++] = all[i];
    free(all);
    words_clear(&said);
    return kept;
}

static DwStatus refuse(const DwGuideEar *ear, const char *words, Heard *heard, DwMessage *message)
{
    size_t count = hear_all(ear, words, true, heard);
    DwText which = {0};
    for (size_t i = 0; i < count; i++)
        dw_text_add(&which, " %s", ear->knowledge->signs[heard[i].sign].ask);
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

// What WORDS only hint at counts where it is a danger, and weighs less: better a deck unplugged for nothing. Returned:
// how many dangers were taken so.
static size_t take_hints(DwGuideCase *guide_case, const DwGuideEar *ear, const char *words, Heard *heard)
{
    size_t count = hear_all(ear, words, true, heard), taken = 0;
    for (size_t i = 0; i < count; i++) {
        size_t sign = heard[i].sign;
        if (!is_danger(&ear->knowledge->signs[sign]) || guide_case->evidence[sign].answer != DW_GUIDE_OPEN)
            continue;
        dw_guide_case_answer_asked(guide_case, sign, DW_GUIDE_YES);
        taken++;
    }
    return taken;
}

// Whether PIECE of what was said is three words or more of which none means anything to the guide, and denies nothing.
static bool is_unheard(const DwGuideEar *ear, const char *piece, Heard *heard)
{
    Words said = said_words(piece);
    bool unheard = said.count >= 3;
    for (size_t i = 0; i < said.count; i++)
        unheard = unheard && !is_denial(said.words[i].stem);
    words_clear(&said);
    return unheard && !hear_all(ear, piece, false, heard) && !hear_all(ear, piece, true, heard);
}

// Keeps what of WORDS means nothing to the guide, so that it is said and not passed over.
static void keep_unheard(DwGuideCase *guide_case, const DwGuideEar *ear, const char *words, Heard *heard)
{
    enum { PIECES_MOST = 12, SHOWN_MOST = 120 }; // a long letter is not gone through to its end
    DwText text = {0};
    size_t pieces = 0;
    for (const char *at = words; *at && pieces < PIECES_MOST; pieces++) {
        at += strspn(at, " ,.;:!?\n");
        size_t length = strcspn(at, ",.;:!?\n");
        const char *joint = strstr(at, " and ");
        if (joint && (size_t)(joint - at) < length)
            length = (size_t)(joint - at);
        char *piece = dw_text_format("%.*s", (int)length, at);
        if (is_unheard(ear, piece, heard))
            dw_text_add(&text, "%s“%.*s%s”", text.length ? ", " : "", dw_text_whole(piece, SHOWN_MOST), piece,
                        strlen(piece) > SHOWN_MOST ? " …" : "");
        free(piece);
        at += length;
        at += strncmp(at, " and ", 5) == 0 ? 5 : 0;
    }
    dw_guide_case_keep_unheard(guide_case, text.chars);
    dw_text_clear(&text);
}

DwStatus dw_guide_case_say(DwGuideCase *guide_case, const char *words, DwMessage *message)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    Heard *heard = dw_memory_new(knowledge->symptom_count + 1, sizeof *heard);
    const DwGuideEar *ear = knowledge->ear;
    size_t count = hear_all(ear, words, false, heard);
    for (size_t i = 0; i < count; i++)
        dw_guide_case_answer(guide_case, heard[i].sign, DW_GUIDE_YES);
    count += take_hints(guide_case, ear, words, heard);
    DwStatus status = count ? DW_OK : refuse(ear, words, heard, message);
    if (status == DW_OK)
        keep_unheard(guide_case, ear, words, heard);
    free(heard);
    return status;
}
