// SPDX-License-Identifier: MIT
#include "web/page/html.h"

#include "support/suite.h"

#include <stdlib.h>
#include <string.h>

static char *take(DwHtml *html)
{
    size_t length;
    char *text = dw_html_take(html, &length);
    ck_assert_uint_eq(length, strlen(text));
    dw_html_free(html);
    return text;
}

START_TEST(text_and_values_are_escaped)
{
    DwHtml *html = dw_html_new();
    dw_html_open(html, "p", "title", "\"><script>", "hidden", DW_HTML_BARE, "class", DW_HTML_NONE, NULL);
    dw_html_text(html, "<b>&'\"\x01 é");
    dw_html_close(html, "p");
    char *text = take(html);
    ck_assert_str_eq(text, "<p title=\"&quot;&gt;&lt;script&gt;\" hidden>&lt;b&gt;&amp;&#39;&quot;\xEF\xBF\xBD é</p>");
    free(text);
}
END_TEST

START_TEST(a_page_is_text_whatever_it_is_given)
{
    DwHtml *html = dw_html_new();
    dw_html_text(html, "\xCE\xB1\xCE|\xFF|\xF0\x9F\x8E|\xED\xA0\x80|\xC0\xAF");
    char *text = take(html);
    // One sign for each byte that is none (The Unicode Standard, 3.9, U+FFFD).
    ck_assert_str_eq(text, "α\uFFFD|\uFFFD|\uFFFD\uFFFD\uFFFD|\uFFFD\uFFFD\uFFFD|\uFFFD\uFFFD");
    free(text);
}
END_TEST

START_TEST(elements_nest_and_void_ones_stay_alone)
{
    DwHtml *html = dw_html_new();
    dw_html_open(html, "ul", NULL);
    dw_html_element(html, "li", "one", "id", "a", NULL);
    dw_html_void(html, "br", NULL);
    dw_html_format(html, "%d < %d", 1, 2);
    dw_html_close(html, "ul");
    char *text = take(html);
    ck_assert_str_eq(text, "<ul><li id=\"a\">one</li><br>1 &lt; 2</ul>");
    free(text);
}
END_TEST

DW_SUITE("html", a_page_is_text_whatever_it_is_given, text_and_values_are_escaped,
         elements_nest_and_void_ones_stay_alone)
