// SPDX-License-Identifier: MIT
#include "report/report.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/settings.h"
#include "book/job/wording.h"
#include "chart/draw/number.h"
#include "report/day.h"
#include "report/paper.h"
#include "report/papers.h"
#include "report/report_words.h"
#include "report/sentence/sentence.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

static const struct {
    const char *name;
    DwStatus (*fill)(DwDossier *dossier, DwMessage *message);
} papers[] = {
    {"receipt", dw_paper_receipt},     {"estimate", dw_paper_estimate}, {"service", dw_paper_service},
    {"proof", dw_paper_proof},         {"invoice", dw_paper_invoice},   {"label", dw_paper_label},
    {"transport", dw_paper_transport}, {"notice", dw_paper_notice},
};

static DwStatus paper_size(DwBook *book, const char *name, DwPaperSize *size, DwMessage *message)
{
    char *setting = dw_settings_text(book, "paper.size");
    const char *word = name ? name : setting;
    bool letter = strcasecmp(word, "letter") == 0;
    DwStatus status = letter || strcasecmp(word, "a4") == 0
                          ? DW_OK
                          : dw_fail(message, DW_BAD_INPUT, "\"%s\" is no paper to print on; a4 and letter are.", word);
    *size = letter ? DW_PAPER_LETTER : DW_PAPER_A4;
    free(setting);
    return status;
}

// Without PATH only the words of the frame are asked for.
static DwStatus write_paper(DwDossier *dossier, DwPaper *paper, const char *name, const char *path, DwMessage *message)
{
    char *shop = dw_dossier_setting(dossier, "shop.name");
    char *deck = dw_dossier_deck(dossier);
    // An invoice has a number of its own, which the job's is not to be taken for.
    char *job = strcmp(name, "invoice") == 0
                    ? dw_paper_words_fill(dossier->words, "paper", "job", "number", dossier->number, NULL)
                    : NULL;
    char *title = dw_text_format("%s%s %s%s%s", dw_dossier_say(dossier, name, "title"), job ? "," : "",
                                 job ? job : dossier->number, *deck ? ", " : "", deck);
    free(job);
    DwPaperFrame frame = {.title = title,
                          .author = shop,
                          .language = dw_paper_words_language(dossier->words),
                          .foot = title,
                          .pages = dw_dossier_say(dossier, "paper", "pages")};
    DwPdfFile file = {dossier->electronic_name, dossier->electronic_on, dossier->electronic};
    if (dossier->electronic)
        frame.file = &file;
    DwStatus status = path ? dw_paper_write(paper, &frame, path, message) : DW_OK;
    free(title);
    free(deck);
    free(shop);
    return status;
}

// The row of the paper called NAME; -1 with the message set when there is none.
static int find_paper(const char *name, DwMessage *message)
{
    DwText names = {0};
    int found = -1;
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        if (strcmp(papers[i].name, name) == 0)
            found = (int)i;
        dw_text_add(&names, "%s%s", i ? ", " : "", papers[i].name);
    }
    if (found < 0)
        dw_fail(message, DW_BAD_INPUT, "There is no paper called \"%s\". There are: %s.", name, names.chars);
    dw_text_clear(&names);
    return found;
}

char *dw_report_sentence(size_t index)
{
    static const char *const answers[] = {[DW_NOT_KNOWN] = "unknown", [DW_NO] = "no", [DW_YES] = "yes"};
    const DwSentence *sentence = dw_sentence_at(index);
    if (!sentence)
        return NULL;
    char *question = dw_text_replace(sentence->question->words, "word", sentence->word ? sentence->word : "");
    char *line =
        dw_text_format("%s.%s = %s to: %s", sentence->group, sentence->key, answers[sentence->stands], question);
    free(question);
    return line;
}

// The language in which CUSTOMER is written to: their own, else the shop's. The caller frees it.
static char *language_of(DwBook *book, const DwCustomer *customer)
{
    const char *tag = dw_customer_language_tag((DwLanguage)customer->language);
    char *shop = dw_settings_text(book, "paper.language");
    size_t length = strlen(tag);
    // A shop that writes British English writes it to whoever reads English.
    bool is_shops = !length || (strncasecmp(shop, tag, length) == 0 && !isalnum((unsigned char)shop[length]));
    char *language = dw_memory_text(is_shops ? shop : tag);
    free(shop);
    return language;
}

// The shop's own words in LANGUAGE: its file (setting paper.words) is in the shop's language; in another it stands
// beside it, "words.de.ini" beside "words.ini". NULL for none. The caller frees it.
static char *own_words(DwBook *book, const char *language)
{
    char *own = dw_settings_text(book, "paper.words"), *shop = dw_settings_text(book, "paper.language");
    char *beside = NULL;
    if (*own && strcmp(language, shop) != 0) {
        const char *end = strrchr(own, '.');
        size_t stem = end && !strchr(end, '/') ? (size_t)(end - own) : strlen(own);
        beside = dw_text_format("%.*s.%s%s", (int)stem, own, language, own + stem);
        if (access(beside, R_OK) != 0) {
            free(beside);
            beside = NULL;
        }
        *own = '\0';
    }
    free(shop);
    if (!*own) {
        free(own);
        return beside;
    }
    return own;
}

static DwStatus words_in(DwBook *book, const char *language, const char *data_folder, DwPaperWords **words,
                         DwMessage *message)
{
    char *own = own_words(book, language);
    DwStatus status = dw_paper_words_read(data_folder, language, own, words, message);
    free(own);
    return status;
}

DwStatus dw_report_words(DwBook *book, const DwCustomer *customer, const char *data_folder, DwPaperWords **words,
                         DwMessage *message)
{
    char *language = language_of(book, customer);
    DwStatus status = words_in(book, language, data_folder, words, message);
    free(language);
    return status;
}

// The job called NUMBER and the language of its papers. The caller frees *LANGUAGE, also when finding it failed.
static DwStatus find_job(DwBook *book, const char *number, int64_t *id, char **language, DwMessage *message)
{
    DwJob job;
    DwCustomer customer;
    *language = NULL;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&customer.record, &dw_customer_entity);
    DwStatus status = dw_job_find(book, number, &job, message);
    if (status == DW_OK)
        status = dw_record_load(book, &customer.record, job.customer_id, message);
    *id = job.record.id;
    if (status == DW_OK)
        *language = language_of(book, &customer);
    dw_record_clear(&customer.record);
    dw_record_clear(&job.record);
    return status;
}

// What the file of edits says is kept on the job: the same paper says it again when it is printed without the file.
static DwStatus keep_edits(DwBook *book, int64_t job, const char *name, const char *locale,
                           const DwReportOptions *options, DwMessage *message)
{
    DwPaperWords *edits = NULL;
    DwPaperText text;
    DwStatus status = dw_paper_words_read(options->data_folder, locale, options->words, &edits, message);
    for (size_t i = 0; status == DW_OK && dw_paper_words_at(edits, i, &text); i++) {
        if (!text.own)
            continue;
        char *key = dw_text_format("%s.%s", text.group, text.key);
        if (*text.text)
            status = dw_wording_set(book, job, name, key, locale, text.text, message);
        else
            status = dw_fail(message, DW_BAD_INPUT, "%s: the text \"%s\" is empty. Give it words, or leave it out.",
                             options->words, key);
        free(key);
    }
    dw_paper_words_free(edits);
    return status;
}

// The edits of the job for this paper and language go before all other words.
static DwStatus prefer_edits_of(DwBook *book, int64_t job, const char *name, const char *locale, DwPaperWords *words,
                                DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_wording_of_job(book, job, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count && status == DW_OK; i++) {
        const DwWording *wording = (const DwWording *)dw_records_at(&records, i);
        if (strcmp(wording->paper, name) == 0 && strcmp(wording->locale, locale) == 0 && dw_wording_stands(wording))
            status = dw_paper_words_prefer(words, wording->key, wording->text, message);
    }
    dw_records_clear(&records);
    return status;
}

// What was edited for the service report holds for its proof too, unless the proof says it otherwise.
static DwStatus prefer_edits(DwBook *book, int64_t job, const char *name, const char *locale, DwPaperWords *words,
                             DwMessage *message)
{
    DwStatus status = DW_OK;
    if (strcmp(name, "proof") == 0)
        status = prefer_edits_of(book, job, "service", locale, words, message);
    return status == DW_OK ? prefer_edits_of(book, job, name, locale, words, message) : status;
}

// The words of the program, the shop and the job, in one.
static DwStatus read_words(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                           DwPaperWords **words, DwMessage *message)
{
    int64_t id = 0;
    DwPaperWords *read = NULL;
    char *locale = NULL;
    DwStatus status = find_job(book, job, &id, &locale, message);
    if (status == DW_OK)
        status = words_in(book, locale, options->data_folder, &read, message);
    if (status == DW_OK && options->words)
        status = keep_edits(book, id, name, locale, options, message);
    if (status == DW_OK)
        status = prefer_edits(book, id, name, locale, read, message);
    if (status == DW_OK)
        *words = read;
    else
        dw_paper_words_free(read);
    free(locale);
    return status;
}

// The shop's labels; false where they are cut out of its paper.
static bool label_size(DwBook *book, DwLabelSize *label)
{
    char *text = dw_settings_text(book, "label.size");
    bool sized = *text && dw_label_size_read(text, label);
    free(text);
    return sized;
}

// A page for each label, or a sheet with as many as fit in its middle.
static void begin_labels(DwPaper *paper, DwPaperSize size, const DwLabelSize *label)
{
    const double points = 72 / 25.4;
    double width = label->width_mm * points, height = label->height_mm * points, page_width, page_height;
    if (!label->sheet) {
        dw_paper_begin_labels(paper, width, height, 0, 0);
        return;
    }
    dw_paper_size(size, &page_width, &page_height);
    double across = fmax(1, floor(page_width / width)), down = fmax(1, floor(page_height / height));
    dw_paper_begin_labels(paper, page_width, page_height, (page_width - across * width) / 2,
                          (page_height - down * height) / 2);
}

static DwStatus fill(DwBook *book, int row, const char *job, const DwReportOptions *options, const DwPaperWords *words,
                     const char *path, DwMessage *message)
{
    DwPaperSize size;
    DwStatus status = paper_size(book, options->paper, &size, message);
    if (status != DW_OK)
        return status;
    DwPaper paper;
    DwDossier dossier;
    DwLabelSize label;
    bool sized = papers[row].fill == dw_paper_label && label_size(book, &label);
    if (sized)
        begin_labels(&paper, size, &label);
    else
        dw_paper_begin(&paper, size);
    status = dw_dossier_read(book, job, words, &paper.flow, &dossier, message);
    dossier.notice = options->notice;
    dossier.label = sized ? &label : NULL;
    dossier.invoice = options->invoice;
    DwText lost = {0};
    dossier.lost = &lost;
    paper.canvas.words = &dossier.chart_words;
    if (status == DW_OK)
        status = papers[row].fill(&dossier, message);
    if (status == DW_OK)
        status = write_paper(&dossier, &paper, papers[row].name, path, message);
    if (options->electronic)
        *options->electronic = status == DW_OK && dossier.electronic;
    if (options->lost && status == DW_OK && lost.length)
        *options->lost = dw_text_take(&lost);
    dw_text_clear(&lost);
    dw_paper_clear(&paper);
    dw_dossier_clear(&dossier);
    return status;
}

// Fills the paper and, with PATH, writes it; WORDS then know what was asked for.
static DwStatus make(DwBook *book, int row, const char *job, const DwReportOptions *options, const DwPaperWords *words,
                     const char *path, DwMessage *message)
{
    const DwNumberStyle *style = dw_number_use_style(dw_paper_words_numbers(words));
    const char *language = dw_paper_words_language(words);
    dw_tongue_use(dw_paper_words_are_english(words) ? NULL : dw_tongue_of(language));
    const DwPaperWords *days = dw_day_use(words);
    DwStatus status = fill(book, row, job, options, words, path, message);
    dw_day_use(days);
    dw_tongue_drop();
    dw_number_use_style(style);
    return status;
}

DwStatus dw_report_write(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         const char *path, DwMessage *message)
{
    int row = find_paper(name, message);
    bool keeps = options->words != NULL; // who only reads holds nobody up
    DwStatus status = row < 0 ? DW_BAD_INPUT : keeps ? dw_book_begin(book, message) : DW_OK;
    if (status != DW_OK)
        return status;
    // Edits are kept only when the paper was written with them.
    DwPaperWords *words = NULL;
    status = read_words(book, name, job, options, &words, message);
    if (status == DW_OK)
        status = make(book, row, job, options, words, path, message);
    dw_paper_words_free(words);
    return keeps ? dw_book_end(book, status, message) : status;
}

static bool is_edited(const DwRecords *records, const char *name, const char *locale, const char *key)
{
    for (size_t i = 0; i < records->count; i++) {
        const DwWording *wording = (const DwWording *)dw_records_at(records, i);
        if (strcmp(wording->paper, name) == 0 && strcmp(wording->locale, locale) == 0 &&
            strcmp(wording->key, key) == 0 && dw_wording_stands(wording))
            return true;
    }
    return false;
}

static DwStatus list_texts(DwBook *book, const char *name, const char *job, const DwPaperWords *words,
                           DwReportTexts *texts, DwMessage *message)
{
    int64_t id = 0;
    DwRecords records;
    char *locale = NULL;
    DwStatus status = find_job(book, job, &id, &locale, message);
    if (status == DW_OK)
        status = dw_wording_of_job(book, id, &records, message);
    if (status != DW_OK) {
        free(locale);
        return status;
    }
    DwPaperText text;
    *texts = (DwReportTexts){0};
    for (size_t i = 0; dw_paper_words_at(words, i, &text); i++) {
        if (!text.asked)
            continue;
        char *key = dw_text_format("%s.%s", text.group, text.key);
        texts->texts = dw_memory_resize(texts->texts, texts->count + 1, sizeof *texts->texts);
        texts->texts[texts->count++] =
            (DwReportText){key, dw_memory_text(text.text), is_edited(&records, name, locale, key)};
    }
    free(locale);
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_report_texts(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         DwReportTexts *texts, DwMessage *message)
{
    int row = find_paper(name, message);
    if (row < 0)
        return DW_BAD_INPUT;
    DwPaperWords *words = NULL;
    DwReportOptions without = *options;
    without.words = NULL;
    DwStatus status = read_words(book, name, job, &without, &words, message);
    if (status == DW_OK)
        status = make(book, row, job, &without, words, NULL, message);
    if (status == DW_OK)
        status = list_texts(book, name, job, words, texts, message);
    dw_paper_words_free(words);
    return status;
}

void dw_report_texts_clear(DwReportTexts *texts)
{
    for (size_t i = 0; i < texts->count; i++) {
        free(texts->texts[i].key);
        free(texts->texts[i].text);
    }
    free(texts->texts);
    *texts = (DwReportTexts){0};
}

DwStatus dw_report_edit(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                        const char *key, const char *text, DwMessage *message)
{
    int64_t id = 0;
    DwPaperWords *words = NULL;
    char *locale = NULL;
    DwStatus status = find_paper(name, message) < 0 ? DW_BAD_INPUT : find_job(book, job, &id, &locale, message);
    if (status == DW_OK)
        status = read_words(book, name, job, options, &words, message);
    if (status == DW_OK)
        status = dw_paper_words_prefer(words, key, text, message); // whether there is such a text
    dw_paper_words_free(words);
    if (status == DW_OK)
        status = dw_wording_set(book, id, name, key, locale, text, message);
    free(locale);
    return status;
}

DwStatus dw_report_drop(DwBook *book, const char *name, const char *job, const char *key, DwMessage *message)
{
    int64_t id = 0;
    char *locale = NULL;
    DwStatus status = find_paper(name, message) < 0 ? DW_BAD_INPUT : find_job(book, job, &id, &locale, message);
    if (status == DW_OK)
        status = dw_wording_drop(book, id, name, key, locale, message);
    free(locale);
    return status;
}
