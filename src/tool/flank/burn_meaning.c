#include "tool/flank/burn_meaning.h"

/* Sources and what is from memory: docs/methods/front-lit.md, "What a colour means". */
typedef struct
{
  gboolean has_table;  /* the published temperatures are this material's */
  const char *meaning; /* of the colour */
  const char *effect;
  const char *look;
} Words;

static const Words words[WS_N_MATERIALS] = {
  [WS_MATERIAL_UNKNOWN] = {
    TRUE,
    "Carbon tool steel has lost hardness there; high-speed steel shows such colours hotter and need "
    "not have, and carbide hasn't. Put the material on the tool card.",
    "carbon tool steel has lost hardness there, high-speed steel and carbide may have fine cracks",
    " Then look for fine cracks with a lens.",
  },
  [WS_MATERIAL_CARBON_STEEL] = {
    TRUE,
    "Carbon tool steel has lost hardness there: it softens from straw on.",
    "it has lost hardness and will wear or crumble soon",
    "",
  },
  [WS_MATERIAL_HIGH_SPEED_STEEL] = {
    FALSE,
    "High-speed steel shows such colours hotter than the tables for plain carbon steel say, and "
    "keeps its hardness up to near its own tempering, about 550 °C (from memory, no source): the "
    "colour alone doesn't prove that it is soft, but fine cracks may be there.",
    "it may have fine cracks, and may have lost hardness",
    " Then look for fine cracks with a lens.",
  },
  [WS_MATERIAL_CARBIDE] = {
    FALSE,
    "Carbide isn't tempered: the colour doesn't mean that it lost hardness, but heat cracks it.",
    "it may have fine cracks",
    " Then look for fine cracks with a lens.",
  },
  [WS_MATERIAL_CERAMIC] = {
    FALSE,
    "Ceramic takes no temper colours: it may be a deposit, but heat cracks it.",
    "it may have fine cracks",
    " Then look for fine cracks with a lens.",
  },
};

char *
wsi_burn_meaning (WsMaterial material, WsFilm hottest)
{
  double low, high;
  wsi_film_temperature_c (hottest, &low, &high);
  if (!words[material].has_table)
    return g_strdup (words[material].meaning);
  return g_strdup_printf ("Published tables put that at %.0f to %.0f °C on plain carbon steel, and "
                          "long heating shifts it: a hint, not a measurement. %s",
                          low, high, words[material].meaning);
}

const char *
wsi_burn_effect (WsMaterial material)
{
  return words[material].effect;
}

const char *
wsi_burn_look (WsMaterial material)
{
  return words[material].look;
}
