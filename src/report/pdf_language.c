// SPDX-License-Identifier: MIT
#include "report/pdf_language.h"

#include "base/text.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const char *last_place(const DwOutput *pdf, const char *words)
{
    const char *last = NULL;
    size_t length = strlen(words);
    for (size_t i = 0; i + length <= pdf->length; i++)
        if (memcmp(pdf->bytes + i, words, length) == 0)
            last = pdf->bytes + i;
    return last;
}

static bool number_after(const char *from, const char *words, long *number)
{
    const char *at = from ? strstr(from, words) : NULL;
    char *end = NULL;
    if (at)
        *number = strtol(at + strlen(words), &end, 10);
    return at && end != at + strlen(words);
}

// The dictionary of object NUMBER without its last ">>"; NULL when it is not found. The caller frees it.
static char *dictionary(const DwOutput *pdf, long number)
{
    char *head = dw_text_format("\n%ld 0 obj\n<<", number);
    const char *object = last_place(pdf, head);
    const char *end = object ? strstr(object, "endobj") : NULL;
    char *text = NULL;
    while (end && end > object && strncmp(end, ">>", 2) != 0)
        end--;
    if (end && end > object)
        text = dw_text_format("%.*s", (int)(end - object - (long)strlen(head)), object + strlen(head));
    free(head);
    return text;
}

void dw_pdf_language_set(DwOutput *pdf, const char *language)
{
    long root, size, table;
    const char *trailer = last_place(pdf, "\ntrailer");
    bool plain = language[strspn(language, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-")] == '\0';
    if (!*language || !plain || !number_after(trailer, "/Root ", &root) || !number_after(trailer, "/Size ", &size) ||
        !number_after(trailer, "startxref\n", &table))
        return;
    char *catalog = dictionary(pdf, root);
    if (!catalog || strstr(catalog, "/Lang")) {
        free(catalog);
        return;
    }
    char *info = NULL;
    long info_number;
    if (number_after(trailer, "/Info ", &info_number))
        info = dw_text_format("   /Info %ld 0 R\n", info_number);
    size_t object = pdf->length;
    char *update = dw_text_format("%ld 0 obj\n<<%s   /Lang (%s)\n>>\nendobj\n", root, catalog, language);
    char *tail = dw_text_format("xref\n%ld 1\n%010zu 00000 n \ntrailer\n<< /Size %ld\n   /Root %ld 0 R\n%s"
                                "   /Prev %ld\n>>\nstartxref\n%zu\n%%%%EOF\n",
                                root, object, size, root, info ? info : "", table, object + strlen(update));
    dw_output_keep(pdf, (const unsigned char *)update, (unsigned)strlen(update));
    dw_output_keep(pdf, (const unsigned char *)tail, (unsigned)strlen(tail));
    free(update);
    free(tail);
    free(info);
    free(catalog);
}
