// SPDX-License-Identifier: MIT
#include "report/pdf_language.h"

#include "base/text.h"

#include <glib.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// From the end on: what is looked for stands near it, and of pictures little begins as WORDS does.
static const char *last_place(const DwOutput *pdf, const char *words)
{
    size_t length = strlen(words);
    for (size_t i = pdf->length < length ? 0 : pdf->length - length + 1; i-- > 0;)
        if (pdf->bytes[i] == words[0] && memcmp(pdf->bytes + i, words, length) == 0)
            return pdf->bytes + i;
    return NULL;
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

// What an update refers to: numbers of objects, and the place of the table before it.
typedef struct {
    long root, size, table, info; // info 0 for none
} Trailer;

static bool read_trailer(const DwOutput *pdf, Trailer *trailer)
{
    const char *at = last_place(pdf, "\ntrailer");
    trailer->info = 0;
    number_after(at, "/Info ", &trailer->info);
    return number_after(at, "/Root ", &trailer->root) && number_after(at, "/Size ", &trailer->size) &&
           number_after(at, "startxref\n", &trailer->table);
}

// Objects that are written anew or added.
typedef struct {
    DwText bytes, entries;
    size_t from; // where they begin in the file
} Update;

// BODY is all between "obj" and "endobj"; it is freed.
static void add_object(Update *update, long number, char *body)
{
    dw_text_add(&update->entries, "%ld 1\n%010zu 00000 n \n", number, update->from + update->bytes.length);
    dw_text_add(&update->bytes, "%ld 0 obj\n%s\nendobj\n", number, body);
    free(body);
}

// Takes UPDATE into PDF; SIZE is one more than the highest number of an object.
static void write_update(DwOutput *pdf, Update *update, const Trailer *trailer, long size)
{
    size_t table = update->from + update->bytes.length;
    char *info = trailer->info ? dw_text_format("   /Info %ld 0 R\n", trailer->info) : dw_text_format("%s", "");
    dw_text_add(&update->bytes,
                "xref\n%strailer\n<< /Size %ld\n   /Root %ld 0 R\n%s   /Prev %ld\n>>\nstartxref\n%zu\n%%%%EOF\n",
                update->entries.chars, size, trailer->root, info, trailer->table, table);
    dw_output_keep(pdf, (const unsigned char *)update->bytes.chars, (unsigned)update->bytes.length);
    free(info);
    dw_text_clear(&update->bytes);
    dw_text_clear(&update->entries);
}

void dw_pdf_language_set(DwOutput *pdf, const char *language)
{
    Trailer trailer;
    bool plain = language[strspn(language, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-")] == '\0';
    if (!*language || !plain || !read_trailer(pdf, &trailer))
        return;
    char *catalog = dictionary(pdf, trailer.root);
    if (catalog && !strstr(catalog, "/Lang")) {
        Update update = {.from = pdf->length};
        add_object(&update, trailer.root, dw_text_format("<<%s   /Lang (%s)\n>>", catalog, language));
        write_update(pdf, &update, &trailer, trailer.size);
    }
    free(catalog);
}

// TEXT as a string of UTF-16 in hexadecimal, with its mark of byte order (7.9.2.2).
static char *text_string(const char *text)
{
    DwText hexadecimal = {0};
    char *valid = g_utf8_make_valid(text, -1);
    glong count = 0;
    gunichar2 *units = g_utf8_to_utf16(valid, -1, NULL, &count, NULL);
    dw_text_add(&hexadecimal, "<FEFF");
    for (glong i = 0; i < count; i++)
        dw_text_add(&hexadecimal, "%04X", units[i]);
    dw_text_add(&hexadecimal, ">");
    g_free(units);
    g_free(valid);
    return dw_text_take(&hexadecimal);
}

// Element NUMBER with PARENT in place of the root it had, and with ALT (NULL for none). The caller frees it.
static char *element_under(const DwOutput *pdf, long number, long parent, const char *alt)
{
    char *element = dictionary(pdf, number), *words = alt ? text_string(alt) : NULL;
    char *at = element ? strstr(element, "/P ") : NULL, *text = NULL;
    const char *rest = at ? strchr(at, '\n') : NULL;
    if (rest)
        text = dw_text_format("<<%.*s/P %ld 0 R%s%s%s%s>>", (int)(at - element), element, parent, rest,
                              words ? "   /Alt " : "", words ? words : "", words ? "\n" : "");
    free(element);
    free(words);
    return text;
}

static bool is_figure(const DwOutput *pdf, long number)
{
    char *element = dictionary(pdf, number);
    bool is = element && strstr(element, "/S /Figure\n");
    free(element);
    return is;
}

// All elements stand under one document, DOCUMENT, as readers want it, and each picture gets its words. Cairo could
// begin the document itself, but then takes no image within it.
static void add_structure(const DwOutput *pdf, Update *update, long root, long document, const DwPdfWords *words)
{
    char *tree = dictionary(pdf, root), *kids = tree ? strstr(tree, "/K [") : NULL;
    size_t figure = 0;
    DwText list = {0};
    for (char *at = kids ? kids + 4 : NULL, *end; at; at = end) {
        long number = strtol(at, &end, 10);
        if (end == at)
            break;
        bool drawn = is_figure(pdf, number) && figure < words->alt_count;
        char *element = element_under(pdf, number, document, drawn ? words->alts[figure] : NULL);
        figure += drawn;
        if (element)
            add_object(update, number, element);
        dw_text_add(&list, " %ld 0 R", number);
        end = strchr(end, 'R');
        end = end ? end + 1 : NULL;
    }
    if (list.length) {
        add_object(
            update, document,
            dw_text_format("<< /Type /StructElem\n   /S /Document\n   /P %ld 0 R\n   /K [%s ]\n>>", root, list.chars));
        add_object(update, root, dw_text_format("<<%.*s/K [ %ld 0 R ]\n>>", (int)(kids - tree), tree, document));
    }
    dw_text_clear(&list);
    free(tree);
}

// The facts as an XMP packet (ISO 16684-1, from memory).
static char *metadata(const DwPdfWords *words)
{
    char *title = g_markup_escape_text(words->title, -1), *author = g_markup_escape_text(words->author, -1);
    char *packet = dw_text_format(
        "<?xpacket begin=\"\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
        "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
        "<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\">\n"
        "<dc:format>application/pdf</dc:format>\n"
        "<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">%s</rdf:li></rdf:Alt></dc:title>\n"
        "<dc:creator><rdf:Seq><rdf:li>%s</rdf:li></rdf:Seq></dc:creator>\n"
        "<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language>\n"
        "</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"w\"?>",
        title, author, words->language);
    char *object = dw_text_format("<< /Type /Metadata /Subtype /XML /Length %zu >>\nstream\n%s\nendstream",
                                  strlen(packet), packet);
    g_free(title);
    g_free(author);
    free(packet);
    return object;
}

void dw_pdf_describe(DwOutput *pdf, const DwPdfWords *words)
{
    Trailer trailer;
    char *catalog = read_trailer(pdf, &trailer) ? dictionary(pdf, trailer.root) : NULL;
    if (!catalog)
        return;
    Update update = {.from = pdf->length};
    long tree = 0, metadata_number = trailer.size, document = trailer.size + 1;
    if (number_after(catalog, "/StructTreeRoot ", &tree))
        add_structure(pdf, &update, tree, document, words);
    add_object(&update, metadata_number, metadata(words));
    // Cairo says that a paper is marked only where it has a kind of element that these have not.
    bool unsaid = tree && !strstr(catalog, "/MarkInfo");
    add_object(&update, trailer.root,
               dw_text_format("<<%s%s   /Metadata %ld 0 R\n   /ViewerPreferences << /DisplayDocTitle true >>\n>>",
                              catalog, unsaid ? "   /MarkInfo << /Marked true >>\n" : "", metadata_number));
    write_update(pdf, &update, &trailer, trailer.size + 2);
    free(catalog);
}

static char *embedded_file(const DwPdfFile *file)
{
    size_t length = strlen(file->text);
    return dw_text_format("<< /Type /EmbeddedFile\n   /Subtype /text#2Fxml\n   /Length %zu\n   /Params << /Size %zu "
                          "/ModDate (D:%.4s%.2s%.2s) >>\n>>\nstream\n%s\nendstream",
                          length, length, file->day, file->day + 5, file->day + 8, file->text);
}

void dw_pdf_attach(DwOutput *pdf, const DwPdfFile *file)
{
    Trailer trailer;
    char *catalog = read_trailer(pdf, &trailer) ? dictionary(pdf, trailer.root) : NULL;
    if (catalog && !strstr(catalog, "/Names") && !strstr(catalog, "/AF ")) {
        Update update = {.from = pdf->length};
        long stream = trailer.size, filespec = trailer.size + 1;
        add_object(&update, stream, embedded_file(file));
        add_object(
            &update, filespec,
            dw_text_format("<< /Type /Filespec\n   /F (%s)\n   /UF (%s)\n   /AFRelationship /Alternative\n   /EF "
                           "<< /F %ld 0 R /UF %ld 0 R >>\n>>",
                           file->name, file->name, stream, stream));
        add_object(&update, trailer.root,
                   dw_text_format("<<%s   /Names << /EmbeddedFiles << /Names [ (%s) %ld 0 R ] >> >>\n   /AF [ %ld 0 R "
                                  "]\n>>",
                                  catalog, file->name, filespec, filespec));
        write_update(pdf, &update, &trailer, trailer.size + 2);
    }
    free(catalog);
}
