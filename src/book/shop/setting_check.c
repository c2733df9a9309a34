// SPDX-License-Identifier: MIT
#include "book/shop/setting_check.h"

#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/country.h"
#include "book/shop/currency.h"
#include "book/store/folder.h"
#include "book/store/private.h"

#include <ctype.h>
#include <fcntl.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

DwStatus dw_setting_check_colour(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    (void)book;
    bool fits = *text == '#' && strlen(text) == 7 && strspn(text + 1, "0123456789abcdefABCDEF") == 6;
    return fits || !*text ? DW_OK
                          : dw_fail(message, DW_BAD_INPUT, "%s: \"%s\" is not a colour such as #1f5a7a.",
                                    dw_said(field->label), text);
}

DwStatus dw_setting_check_currency(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    enum { LETTERS_MOST = 8 };
    (void)book;
    size_t letters = 0;
    bool fits = *text != ' ' && (!*text || text[strlen(text) - 1] != ' ');
    for (const char *at = text; *at; at++) {
        letters += ((unsigned char)*at & 0xc0) != 0x80;
        fits = fits && !isdigit((unsigned char)*at) && !strchr("\t\r\n<>&\"", *at);
    }
    if (dw_currency_is_code(text) && dw_currency_digits(text) < 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: ISO 4217 has no currency %s. Give its code, such as EUR.",
                       dw_said(field->label), text);
    return fits && letters <= LETTERS_MOST
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT,
                         "%s: \"%.*s\" is not a currency's sign or word of at most %d letters, such as EUR.",
                         dw_said(field->label), dw_text_whole(text, 40), text, LETTERS_MOST);
}

DwStatus dw_setting_check_country(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    (void)book;
    return !*text || dw_country_is_known(text)
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT, "%s: \"%.*s\" is no country's code of ISO 3166-1, such as DE.",
                         dw_said(field->label), dw_text_whole(text, 40), text);
}

// The figure that stands for C in the sum: letters count from A = 10 (ISO 13616, annex).
static int account_figure(char c)
{
    return isdigit((unsigned char)c) ? c - '0' : toupper((unsigned char)c) - 'A' + 10;
}

DwStatus dw_setting_check_account(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    char plain[64] = "";
    size_t length = 0;
    (void)book;
    for (const char *at = text; *at && length + 1 < sizeof plain; at++)
        if (*at != ' ')
            plain[length++] = *at;
    if (length < 4 || !isalpha((unsigned char)plain[0]) || !isalpha((unsigned char)plain[1]) ||
        !isdigit((unsigned char)plain[2]) || !isdigit((unsigned char)plain[3]))
        return DW_OK;
    int rest = 0;
    bool fits = length >= 15 && length <= 34;
    for (size_t i = 0; fits && i < length; i++) {
        char c = plain[(i + 4) % length];
        fits = isalnum((unsigned char)c);
        int figure = fits ? account_figure(c) : 0;
        rest = (rest * (figure > 9 ? 100 : 10) + figure) % 97;
    }
    return fits && rest == 1
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT, "%s: the check figures of this IBAN do not fit. Type it again.",
                         dw_said(field->label));
}

// Of 1 to 8 letters or figures; the first is of 2 to 8 letters.
static bool is_language(const char *text)
{
    for (const char *at = text;;) {
        size_t length = strcspn(at, "-_");
        if (length < (at == text ? 2 : 1) || length > 8)
            return false;
        for (size_t i = 0; i < length; i++)
            if (at == text ? !isalpha((unsigned char)at[i]) : !isalnum((unsigned char)at[i]))
                return false;
        if (!at[length])
            return true;
        at += length + 1;
    }
}

// Where the catalogues of the papers' words lie; "" for the four that the program comes with.
static char words_folder[4096];

void dw_setting_find_words_in(const char *folder)
{
    snprintf(words_folder, sizeof words_folder, "%s", folder);
}

// The languages that have a catalogue, "de, en, es, fr"; *KNOWN where TEXT is one of them or a kind of one, as en-GB
// is. The caller frees it with free().
static char *spoken(const char *text, bool *known)
{
    glob_t found = {0};
    char *pattern = dw_text_format("%s/papers.*.ini", words_folder);
    const char *const own[] = {"de", "es", "fr"};
    bool look = *words_folder && glob(pattern, 0, NULL, &found) == 0;
    size_t count = look ? found.gl_pathc : sizeof own / sizeof *own;
    DwText list = {0};
    for (size_t i = 0; i <= count; i++) {
        const char *tag = i == 0 ? "en" : look ? strstr(strrchr(found.gl_pathv[i - 1], '/'), ".") + 1 : own[i - 1];
        size_t length = strcspn(tag, ".");
        *known = *known || (strncasecmp(text, tag, length) == 0 && strchr("-_", text[length]));
        dw_text_add(&list, "%s%.*s", i ? ", " : "", (int)length, tag);
    }
    globfree(&found);
    free(pattern);
    return dw_text_take(&list);
}

// A shop that has set its own words (paper.words) may name any language for them.
static bool has_own_words(const DwBook *book)
{
    DwQuery query = dw_query_begin((DwBook *)book, "SELECT value FROM setting WHERE key = 'paper.words'");
    bool has = dw_query_step(&query) && *dw_query_text(&query, 0);
    return dw_query_end(&query, NULL) == DW_OK && has;
}

DwStatus dw_setting_check_language(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    bool known = !*text;
    if (*text && !is_language(text))
        return dw_fail(message, DW_BAD_INPUT, "%s: \"%.*s\" is not a language such as en or en-GB.",
                       dw_said(field->label), dw_text_whole(text, 40), text);
    char *list = spoken(text, &known);
    DwStatus status = known || has_own_words(book)
                          ? DW_OK
                          : dw_fail(message, DW_BAD_INPUT,
                                    "%s: the papers have no words in \"%s\", but in %s. For another language set "
                                    "paper.words first, to a file of the shop's own words.",
                                    dw_said(field->label), text, list);
    free(list);
    return status;
}

bool dw_label_size_read(const char *text, DwLabelSize *size)
{
    const double least_width = 30, least_height = 15, most = 300; // mm
    double width, height;
    const char *at = dw_text_number(text, &width);
    at = at ? at + strspn(at, " ") : NULL;
    if (!at || (*at != 'x' && strncmp(at, "×", strlen("×")) != 0))
        return false;
    at = dw_text_number(at + (*at == 'x' ? 1 : strlen("×")), &height);
    if (!at)
        return false;
    at += strspn(at, " ");
    at += strncmp(at, "mm", 2) == 0 ? 2 : 0;
    at += strspn(at, " ");
    *size = (DwLabelSize){width, height, strcmp(at, "sheet") == 0};
    return (*at == '\0' || size->sheet) && width >= least_width && height >= least_height && width <= most &&
           height <= most;
}

DwStatus dw_setting_check_label(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    DwLabelSize size;
    (void)book;
    return !*text || dw_label_size_read(text, &size)
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT,
                         "%s: \"%.*s\" is no size such as 62 x 29 or 70 x 37 sheet, in mm, from 30 x 15 to 300 x 300.",
                         dw_said(field->label), dw_text_whole(text, 40), text);
}

// The first LENGTH bytes of the ordinary file that TEXT names, in the book where it says so; false when there is none.
static bool read_head(const DwBook *book, const char *text, unsigned char *head, size_t length)
{
    bool own = strncmp(text, "attachments/", 12) == 0;
    if (dw_folder_is_database(book->folder, text)) // which nothing but SQLite may open
        return false;
    char *path = own ? dw_text_format("%s/%s", book->folder, text) : dw_text_format("%s", text);
    int handle = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    free(path);
    struct stat status;
    bool ordinary = handle >= 0 && fstat(handle, &status) == 0 && S_ISREG(status.st_mode);
    memset(head, 0, length);
    ordinary = ordinary && read(handle, head, length) >= 0;
    if (handle >= 0)
        close(handle);
    return ordinary;
}

DwStatus dw_setting_check_picture(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    unsigned char head[8];
    if (!*text || (read_head(book, text, head, sizeof head) &&
                   (memcmp(head, "\x89PNG\r\n\x1a\n", 8) == 0 || memcmp(head, "\xff\xd8\xff", 3) == 0)))
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT, "%s: %s is no PNG or JPEG file that can be read.", dw_said(field->label),
                   text);
}

DwStatus dw_setting_check_file(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    unsigned char head[1];
    return !*text || read_head(book, text, head, sizeof head)
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT, "%s: %s is no ordinary file that can be read.", dw_said(field->label),
                         text);
}
