// SPDX-License-Identifier: MIT
#include "report/report.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "book/job/wording.h"
#include "report/paper.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

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
    char *language = dw_dossier_setting(dossier, "paper.language"), *shop = dw_dossier_setting(dossier, "shop.name");
    char *deck = dw_dossier_deck(dossier);
    char *title =
        dw_text_format("%s %s%s%s", dw_dossier_say(dossier, name, "title"), dossier->number, *deck ? ", " : "", deck);
    DwPaperFrame frame = {.title = title,
                          .author = shop,
                          .language = language,
                          .foot = title,
                          .pages = dw_dossier_say(dossier, "paper", "pages")};
    DwStatus status = path ? dw_paper_write(paper, &frame, path, message) : DW_OK;
    free(title);
    free(deck);
    free(language);
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

static DwStatus job_id(DwBook *book, const char *number, int64_t *id, DwMessage *message)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_job_find(book, number, &job, message);
    *id = job.record.id;
    dw_record_clear(&job.record);
    return status;
}

// What the file of edits says is kept on the job: the same paper says it again when it is printed without the file.
static DwStatus keep_edits(DwBook *book, int64_t job, const char *name, const char *locale,
                           const DwReportOptions *options, DwMessage *message)
{
    DwPaperWords *edits = NULL;
    DwPaperText text;
    DwStatus status = dw_paper_words_read(options->data_folder, options->words, &edits, message);
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
    char *locale = dw_settings_text(book, "paper.language"), *own = dw_settings_text(book, "paper.words");
    DwStatus status = job_id(book, job, &id, message);
    if (status == DW_OK)
        status = dw_paper_words_read(options->data_folder, *own ? own : NULL, &read, message);
    if (status == DW_OK && options->words)
        status = keep_edits(book, id, name, locale, options, message);
    if (status == DW_OK)
        status = prefer_edits(book, id, name, locale, read, message);
    if (status == DW_OK)
        *words = read;
    else
        dw_paper_words_free(read);
    free(locale);
    free(own);
    return status;
}

// Fills the paper and, with PATH, writes it; WORDS then know what was asked for.
static DwStatus make(DwBook *book, int row, const char *job, const DwReportOptions *options, const DwPaperWords *words,
                     const char *path, DwMessage *message)
{
    DwPaperSize size;
    DwStatus status = paper_size(book, options->paper, &size, message);
    if (status != DW_OK)
        return status;
    DwPaper paper;
    DwDossier dossier;
    dw_paper_begin(&paper, size);
    status = dw_dossier_read(book, job, words, &paper.flow, &dossier, message);
    dossier.notice = options->notice;
    dossier.invoice = options->invoice;
    paper.canvas.words = &dossier.chart_words;
    if (status == DW_OK)
        status = papers[row].fill(&dossier, message);
    if (status == DW_OK)
        status = write_paper(&dossier, &paper, papers[row].name, path, message);
    dw_paper_clear(&paper);
    dw_dossier_clear(&dossier);
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
    DwStatus status = job_id(book, job, &id, message);
    if (status == DW_OK)
        status = dw_wording_of_job(book, id, &records, message);
    if (status != DW_OK)
        return status;
    char *locale = dw_settings_text(book, "paper.language");
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
    DwStatus status = find_paper(name, message) < 0 ? DW_BAD_INPUT : job_id(book, job, &id, message);
    if (status == DW_OK)
        status = read_words(book, name, job, options, &words, message);
    if (status == DW_OK)
        status = dw_paper_words_prefer(words, key, text, message); // whether there is such a text
    dw_paper_words_free(words);
    char *locale = dw_settings_text(book, "paper.language");
    if (status == DW_OK)
        status = dw_wording_set(book, id, name, key, locale, text, message);
    free(locale);
    return status;
}

DwStatus dw_report_drop(DwBook *book, const char *name, const char *job, const char *key, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = find_paper(name, message) < 0 ? DW_BAD_INPUT : job_id(book, job, &id, message);
    char *locale = dw_settings_text(book, "paper.language");
    if (status == DW_OK)
        status = dw_wording_drop(book, id, name, key, locale, message);
    free(locale);
    return status;
}
