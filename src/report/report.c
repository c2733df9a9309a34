// SPDX-License-Identifier: MIT
#include "report/report.h"

#include "base/text.h"
#include "book/settings.h"
#include "report/paper.h"
#include "report/papers.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const struct {
    const char *name;
    DwStatus (*fill)(DwDossier *dossier, DwMessage *message);
} papers[] = {
    {"receipt", dw_paper_receipt}, {"estimate", dw_paper_estimate}, {"service", dw_paper_service},
    {"invoice", dw_paper_invoice}, {"label", dw_paper_label},       {"transport", dw_paper_transport},
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
    DwStatus status = dw_paper_write(paper, &frame, path, message);
    free(title);
    free(deck);
    free(language);
    free(shop);
    return status;
}

DwStatus dw_report_write(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         const char *path, DwMessage *message)
{
    size_t row = 0, rows = sizeof papers / sizeof *papers;
    while (row < rows && strcmp(papers[row].name, name) != 0)
        row++;
    if (row == rows)
        return dw_fail(message, DW_BAD_INPUT, "There is no paper called \"%s\".", name);
    DwPaperSize size;
    DwPaperWords *words = NULL;
    DwStatus status = paper_size(book, options->paper, &size, message);
    if (status == DW_OK)
        status = dw_paper_words_read(options->data_folder, options->words, &words, message);
    if (status != DW_OK)
        return status;
    DwPaper paper;
    DwDossier dossier;
    dw_paper_begin(&paper, size);
    status = dw_dossier_read(book, job, words, &paper.flow, &dossier, message);
    if (status == DW_OK)
        status = papers[row].fill(&dossier, message);
    if (status == DW_OK)
        status = write_paper(&dossier, &paper, name, path, message);
    dw_paper_clear(&paper);
    dw_dossier_clear(&dossier);
    dw_paper_words_free(words);
    return status;
}
