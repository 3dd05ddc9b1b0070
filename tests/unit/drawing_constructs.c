/* Each construct of SVG: our strokes drawn plainly and the original rendered by librsvg (a general-purpose renderer, independent
 * of ours) agree in pixels. Lines are drawn with round ends; where a transform would change their width, areas are compared. */
#include <check.h>
#include "pixels.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' "
#define LOOK "fill='none' stroke='#000' stroke-width='2' stroke-linecap='round' stroke-linejoin='round' "
#define FILLED "fill='#000' "
#define FRAME HEAD "width='100mm' height='100mm' viewBox='0 0 100 100' "
#define AREA "<!-- area -->" /* areas are compared: a line under a transform would not keep its width */

static const struct construct {
    const char *name, *content; /* content within FRAME, unless it is a whole drawing */
} constructs[] = {
    {"lines", "<path d='M10 10 L90 20 30 80 M50 50 l20 10 -5 -30'/>"},
    {"relative move first", "<path d='m10 10 20 20 30 -10 z m50 40 10 10'/>"},
    {"horizontal and vertical", "<path d='M10 10 H80 30 V60 h10 20 v-10 5'/>"},
    {"cubics", "<path d='M10 50 C20 0 40 100 50 50 60 0 80 100 90 50 m-60 20 c5 5 10 -20 20 10'/>"},
    {"smooth cubics", "<path d='M10 50 C20 20 40 20 50 50 S80 80 90 50 M10 80 S30 60 50 80 s20 10 40 -5'/>"},
    {"quadratics", "<path d='M10 50 Q30 0 50 50 70 100 90 50 M10 90 q20 -30 40 0'/>"},
    {"smooth quadratics", "<path d='M10 50 Q30 10 50 50 T90 50 M5 90 T30 70 t20 10 q10 5 20 -10 t10 10'/>"},
    {"arcs", "<path d='M30 20 h-15 a15 15 0 1 0 15 -15 z M80 80 a25 10 -30 0 1 -30 10 M60 40 A10 20 45 1 1 90 40'/>"},
    {"arc flags", "<path d='M20 50 a20 12 30 0 0 20 10 M20 50 a20 12 30 0 1 20 10 M60 50 a20 12 30 1 0 20 10 M60 50 a20 12 30 1 1 20 10'/>"},
    {"arcs too small", "<path d='M10 50 a1 1 0 0 1 60 10 M20 80 A2 1 30 1 0 80 90'/>"},
    {"arcs without radius", "<path d='M10 10 a0 5 0 0 1 40 40 M10 90 A-20 10 0 0 1 50 90'/>"},
    {"compact numbers", "<path d='M10.5.5L90-.5.5e2 60-1e1-10M20,20l.5.5.5.5 30 30a1 1 0 0110 10'/>"},
    {"close and go on", "<path d='M20 20 h30 v30 z l-10 40 z h60'/>"},
    {"path error keeps the start", "<path d='M10 10 L90 10 L90 90 L50,,50 L0 0'/>"},
    {"path error in numbers", "<path d='M10,10 L 20,80,30'/><path d='M50 50 L 60 60 X 5 L 90 50'/>"},
    {"rect", "<rect x='10' y='20' width='50' height='30'/>"},
    {"rounded rect", "<rect x='10' y='20' width='50' height='30' rx='10' ry='5'/><rect x='10' y='60' width='60' height='30' rx='8'/>"},
    {"very round rect", "<rect x='10' y='10' width='50' height='30' rx='90' ry='90'/><rect x='10' y='60' width='60' height='30' ry='90'/>"},
    {"circle and ellipse", "<circle cx='30' cy='30' r='20'/><ellipse cx='60' cy='70' rx='30' ry='10'/>"},
    {"line", "<line x1='10' y1='20' x2='80' y2='90'/><line x2='50' y2='10'/>"},
    {"polyline and polygon", "<polyline points='10,10 20,40 50 30 20-5'/><polygon points='60 60 90 60 75 90'/>"},
    {"units", "<line x1='1cm' y1='5mm' x2='1in' y2='30pt'/><line x1='2pc' y1='20px' x2='5em' y2='6ex' font-size='10'/>"},
    {"percentages", "<rect x='10%' y='20%' width='50%' height='25%'/><circle cx='50%' cy='70%' r='10%'/>"},
    {"translate", "<g transform='translate(20)'><path d='M0 0 h20 v30'/></g><g transform='translate(30,40)'><path d='M0 0 h20 v30'/></g>"},
    {"scale", AREA "<g transform='scale(2)'><path d='M5 5 h20 v30'/></g><g transform='scale(3 .5)'><circle cx='20' cy='100' r='10'/></g>"},
    {"rotate", "<g transform='rotate(30)'><path d='M30 0 h40 v20'/></g><g transform='rotate(-45 50 50)'><path d='M30 50 h40 v20'/></g>"},
    {"skew", AREA "<g transform='skewX(30)'><path d='M10 10 h40 v20 z'/></g><g transform='skewY(20)'><circle cx='60' cy='40' r='20'/></g>"},
    {"matrix", AREA "<path transform='matrix(1 .5 -.5 2 30 10)' d='M0 0 c10 0 20 10 20 20 a10 5 0 0 1 -10 5 z'/>"},
    {"transform list", AREA "<path transform='translate(50 50) rotate(20),scale(1.5 .7)\n skewX(10)translate(-10)' d='M0 0 h20 v20 h-20 z'/>"},
    {"transform as a property", "<path style='transform: translate(20px, 30px) rotate(45deg)' d='M0 0 h20 v20 h-20 z'/>"},
    {"nested groups", "<g transform='translate(10 10)'><g transform='rotate(20)'><g transform='scale(1)'><rect width='50' height='20'/></g></g></g>"},
    {"use", "<defs><path id='a' d='M0 0 h20 v20 z'/></defs><use xlink:href='#a' x='10' y='20'/><use href='#a' transform='rotate(30)' x='60'/>"},
    {"use of a group", "<g id='a'><rect x='5' y='5' width='20' height='10'/><circle cx='10' cy='30' r='5'/></g><use xlink:href='#a' x='50' y='50'/>"},
    {"use of a use", "<defs><path id='a' d='M0 0 h20 v20 z'/><use id='b' xlink:href='#a' x='10'/></defs><use xlink:href='#b' y='30'/>"},
    {"symbol", AREA "<symbol id='s' viewBox='0 0 20 10'><rect x='1' y='1' width='18' height='8'/></symbol><use xlink:href='#s' x='10' y='10' width='60' height='60'/>"},
    {"symbol without viewBox", "<symbol id='s'><rect x='1' y='1' width='18' height='8'/></symbol><use xlink:href='#s' x='10' y='10'/>"},
    {"symbol stretched", AREA "<symbol id='s' viewBox='0 0 20 10' preserveAspectRatio='none'><circle cx='10' cy='5' r='4'/></symbol><use xlink:href='#s' x='10' y='10' width='30' height='80'/>"},
    {"nested svg", "<svg x='20' y='30' width='50' height='40'><rect x='2' y='2' width='50%' height='50%'/></svg>"},
    {"nested viewBox", AREA "<svg x='10' y='10' width='80' height='40' viewBox='-10 -10 20 20'><circle r='8'/></svg>"},
    {"nested xMinYMax", AREA "<svg x='10' y='10' width='30' height='80' viewBox='0 0 20 20' preserveAspectRatio='xMinYMax'><circle cx='10' cy='10' r='8'/></svg>"},
    {"nested slice", AREA "<svg x='10' y='30' width='80' height='40' viewBox='0 0 20 20' preserveAspectRatio='xMidYMid slice' overflow='visible'><circle cx='10' cy='10' r='5'/></svg>"},
    {"use of an svg", AREA "<defs><svg id='v' viewBox='0 0 10 10' width='60' height='60'><circle cx='5' cy='5' r='4'/></svg></defs><use xlink:href='#v' x='20' y='20'/>"},
    {"switch", "<switch><g systemLanguage='xx'><rect width='90' height='90'/></g><g><circle cx='50' cy='50' r='20'/></g><g><rect width='30' height='30'/></g></switch>"},
    {"defs and the like are not drawn", "<defs><rect width='90' height='90'/></defs><clipPath id='c'><rect width='50' height='50'/></clipPath><mask id='m'><path d='M0 0 h90'/></mask>"
     "<pattern id='p' width='5' height='5'><path d='M0 0 h90'/></pattern><marker id='k'><path d='M0 0 h90'/></marker><symbol><path d='M0 0 h90'/></symbol><path d='M10 20 h30'/>"},
    {"display and visibility", "<g display='none'><path d='M0 0 h90'/></g><g visibility='hidden'><path d='M0 20 h90'/><path visibility='visible' d='M0 30 h90'/></g><path style='display:none' d='M0 40 h90'/>"},
    {"no stroke", "<path stroke='none' d='M0 10 h90'/><path stroke-width='0' d='M0 20 h90'/><path stroke-opacity='0' d='M0 30 h90'/><g opacity='0'><path d='M0 40 h90'/></g><path d='M0 50 h90'/>"},
    {"unseen paints", "<path stroke='transparent' d='M0 10 h90'/><path stroke='rgba(0,0,0,0)' d='M0 20 h90'/><path stroke='url(#none)' d='M0 30 h90'/><path stroke='url(#none) black' d='M0 50 h90'/>"},
    {"current colour", "<g color='black'><path stroke='currentColor' d='M0 10 h90'/></g><g color='transparent'><path stroke='currentColor' d='M0 30 h90'/></g>"},
    {"style attribute", "<g style='stroke:none'><path d='M0 10 h90'/><path d='M0 20 h90' style='stroke: black ; fill : none'/></g><path stroke='none' style='stroke:#000' d='M0 30 h90'/>"},
    {"bad values change nothing", "<path stroke='none' style='stroke: bogus' d='M0 10 h90'/><path style='stroke:#12;stroke-width:wide' d='M0 30 h90'/>"},
    {"sheet: type", "<style>path{stroke:none} rect{stroke:#000}</style><path d='M0 10 h90'/><rect x='10' y='20' width='30' height='30'/>"},
    {"sheet: class", "<style>.off{stroke:none}.on{stroke:#000}</style><path class='off' d='M0 10 h90'/><path class='x off y' d='M0 20 h90'/><path class='off on' d='M0 30 h90'/>"},
    {"sheet: id over class over type", "<style>#a{stroke:none}.k{stroke:#000}path{stroke:none}</style><path id='a' class='k' d='M0 10 h90'/><path class='k' d='M0 20 h90'/><path d='M0 30 h90'/>"},
    {"sheet: descendant", "<style>g .k path{stroke:none}</style><g><g class='k'><g><path d='M0 10 h90'/></g></g></g><g class='k'><path d='M0 20 h90'/></g>"},
    {"sheet: child", "<style>.k > path{stroke:none}</style><g class='k'><path d='M0 10 h90'/><g><path d='M0 20 h90'/></g></g>"},
    {"sheet: child of descendant", "<style>.a .b > .c path{stroke:none}</style><g class='a'><g class='b'><g class='b'><g class='c'><path d='M0 10 h90'/></g></g><g><g class='c'><path d='M0 20 h90'/></g></g></g></g>"},
    {"sheet: important", "<style>path{stroke:none !important}#b{stroke:#000!important}</style><path style='stroke:#000' d='M0 10 h90'/><path id='b' d='M0 20 h90'/>"},
    {"sheet: list, star, comments", "<style>/* x */ .p , .q /* y */ {stroke:none} <![CDATA[ *.r{stroke:none} ]]></style><path class='p' d='M0 10 h90'/><path class='q' d='M0 20 h90'/><path class='r' d='M0 25 h90'/><path d='M0 30 h90'/>"},
    {"sheet: order", "<style>.p{stroke:none}</style><path class='p' d='M0 10 h90'/><style>.p{stroke:#000}</style>"},
    {"sheet: several conditions", "<style>path.a.b{stroke:none}path#i.a{stroke:none}</style><path class='a' d='M0 10 h90'/><path class='b a' d='M0 20 h90'/><path id='i' class='a' d='M0 30 h90'/>"},
    {"sheet: attribute is weaker than any rule", "<style>*{stroke:none}</style><path stroke='#000' d='M0 10 h90'/><path style='stroke:#000' d='M0 20 h90'/>"},
    {"sheet and use", "<style>.k path{stroke:none}</style><defs><g class='k'><path id='a' d='M0 10 h90'/></g><path id='b' d='M0 20 h90'/></defs><use xlink:href='#a'/><g class='k'><use xlink:href='#b'/></g>"},
    {"inherit", "<g stroke='none'><g style='stroke:black'><path stroke='inherit' d='M0 10 h90'/></g><path style='stroke:inherit' d='M0 20 h90'/></g>"},
    {"geometry by sheet", "<style>rect{x:20px;width:50px;height:30px}circle{r:10px;cx:50px;cy:70px}</style><rect y='10' width='5'/><circle r='30'/>"},
    {"whole drawing slides", HEAD "width='100mm' height='50mm' viewBox='-20 -20 40 40' " FILLED ">" AREA "<circle r='15'/></svg>"},
    {"whole drawing stretched", HEAD "width='100mm' height='50mm' viewBox='0 0 20 20' preserveAspectRatio='none' " FILLED ">" AREA "<circle cx='10' cy='10' r='8'/></svg>"},
    {"inches", HEAD "width='4in' height='3in' " LOOK "><path d='M10 10 h300 v200 z'/></svg>"},
    {"plain numbers", HEAD "width='300' height='200' " LOOK "><path d='M10 10 h200 v100 z'/></svg>"},
    {"only a viewBox", HEAD "viewBox='0 0 300 200' " LOOK "><path d='M10 10 h200 v100 z'/></svg>"},
    {"percent size", HEAD "width='100%' height='100%' viewBox='10 10 300 200' " LOOK "><path d='M20 20 h200 v100 z'/></svg>"},
    {"prefixed names", "<s:svg xmlns:s='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100' " LOOK "><s:path d='M10 10 h80 v20'/><path d='M0 0 h50'/></s:svg>"},
};

enum { CONSTRUCTS = sizeof constructs / sizeof constructs[0] };

START_TEST(agrees_with_librsvg) {
    const struct construct *c = &constructs[_i];
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    char svg[4096];
    bool whole = c->content[0] == '<' && (strncmp(c->content, HEAD, 20) == 0 || strstr(c->content, "</s:svg>"));
    const bool area = strstr(c->content, AREA) != NULL;
    snprintf(svg, sizeof svg, whole ? "%s" : area ? FRAME FILLED ">%s</svg>" : FRAME LOOK ">%s</svg>", c->content);
    dt_drawing *drawing = NULL;
    dt_error error = {0};
    dt_status status = dt_drawing_read_memory(c->name, svg, strlen(svg), &settings, &drawing, &error);
    ck_assert_msg(status == DT_OK, "%s: %s", c->name, error.message);
    /* One user unit of FRAME is a millimetre; of the others, 1/96 inch. */
    const double px_per_mm = strstr(svg, "viewBox='0 0 100 100'") ? 4.0 : 96.0 / 25.4;
    const pixels_setup setup = {px_per_mm, px_per_mm == 4.0 ? 8.0 : 2.0, area, getenv("DOVETELL_LEAVE")};
    pixels_difference d = {0};
    ck_assert_msg(pixels_compare(svg, strlen(svg), drawing, &setup, &d), "%s: librsvg cannot render it", c->name);
    dt_drawing_free(drawing);
    if (getenv("DOVETELL_LEAVE")) printf("%3d %s\n", d.largest, c->name);
    ck_assert_msg(d.covered > 100, "%s: nothing is drawn", c->name);
    ck_assert_msg(d.largest <= 40, "%s: %zu pixels of %zu differ, the worst by %d of 255", c->name, d.strong, d.covered, d.largest);
}
END_TEST

Suite *suite_drawing_constructs(void);
Suite *suite_drawing_constructs(void) {
    Suite *suite = suite_create("drawing_constructs");
    TCase *tests = tcase_create("constructs");
    tcase_add_loop_test(tests, agrees_with_librsvg, 0, CONSTRUCTS);
    suite_add_tcase(suite, tests);
    return suite;
}
