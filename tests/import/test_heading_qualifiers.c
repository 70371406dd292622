/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A target told as RPM gives a kart that never slows down: words that make a
 * column something worked out of the reading, in each language. */
#include "support/heading_check.h"

#define CHECK(cases) check_cases(cases, sizeof(cases) / sizeof(cases)[0])

static const struct heading_case derived[] = {
    {"RPM max", "", KW_N_ROLES, NULL},
    {"RPMMax", "", KW_N_ROLES, NULL},
    {"EGTMin", "C", KW_N_ROLES, NULL},
    {"H\xC3\xB6"
     "chstgeschwindigkeit",
     "km/h", KW_N_ROLES, NULL},
    {"Meilleur tour", "", KW_N_ROLES, NULL},
    {"Mejor vuelta", "", KW_N_ROLES, NULL},
    {"Miglior giro", "", KW_N_ROLES, NULL},
    {"Melhor volta", "", KW_N_ROLES, NULL},
    {"EGTAvg", "C", KW_N_ROLES, NULL},
    {"Giri medi (rpm)", "", KW_N_ROLES, NULL},
    {"Durchschnittsgeschwindigkeit", "", KW_N_ROLES, NULL},
    {"Regime-cible (rpm)", "", KW_N_ROLES, NULL},
    {"RPM_OBJETIVO", "", KW_N_ROLES, NULL},
    {"giri obiettivo", "", KW_N_ROLES, NULL},
    {"rpmAlvo", "", KW_N_ROLES, NULL},
    {"Regime consigne", "", KW_N_ROLES, NULL},
    {"Drehzahl Sollwert", "", KW_N_ROLES, NULL},
    {"Tempolimit [km/h]", "", KW_N_ROLES, NULL},
    {"abgastempGrenze", "", KW_N_ROLES, NULL},
    {"Seuil EGT", "C", KW_N_ROLES, NULL},
    {"EGTDifference", "C", KW_N_ROLES, NULL},
    {"Abgastemp. Differenz", "", KW_N_ROLES, NULL},
    {"\xC3\x89"
     "cart temp\xC3\xA9rature \xC3\xA9"
     "chappement",
     "", KW_N_ROLES, NULL},
    {"Diferencia temperatura escape", "", KW_N_ROLES, NULL},
    {"Variation r\xC3\xA9gime", "", KW_N_ROLES, NULL},
    {"varia\xC3\xA7\xC3\xA3o_rpm", "", KW_N_ROLES, NULL},
    {"giriRimanenti", "", KW_N_ROLES, NULL},
    {"Velocidad viento", "m/s", KW_N_ROLES, NULL},
    {"Velocit\xC3\xA0 vento", "", KW_N_ROLES, NULL},
    {"Batterie Ladestand", "", KW_N_ROLES, NULL},
    {"Battery charge", "%", KW_N_ROLES, NULL},
    {"NIVEAU BATTERIE", "", KW_N_ROLES, NULL},
    {"Livello acqua", "", KW_N_ROLES, NULL},
    {"TPS_VOLTS [V]", "", KW_N_ROLES, NULL},
    {"Giro Z", "deg/s", KW_N_ROLES, NULL},
    {"Top speed", "", KW_N_ROLES, NULL},
    {"Velocidad punta", "", KW_N_ROLES, NULL},
    {"Giro previsto", "", KW_N_ROLES, NULL},
    {"Predicted lap", "", KW_N_ROLES, NULL},
    {"Vuelta estimada", "", KW_N_ROLES, NULL},
    {"RPM_LIM", "", KW_N_ROLES, NULL},
    {"RPM cut", "", KW_N_ROLES, NULL},
    {"Abregeldrehzahl", "", KW_N_ROLES, NULL},
    {"Nenndrehzahl", "", KW_N_ROLES, NULL},
    {"Zieldrehzahl", "", KW_N_ROLES, NULL},
    {"Alerte regime", "", KW_N_ROLES, NULL},
    {"RPM_cmd", "", KW_N_ROLES, NULL},
    {"dRPM/dt", "", KW_N_ROLES, NULL},
    {"rpm change per sec", "", KW_N_ROLES, NULL},
    {"EGT rise", "", KW_N_ROLES, NULL},
    {"Drehzahlanderung", "", KW_N_ROLES, NULL},
    {"Throttle rate", "", KW_N_ROLES, NULL},
    {"Batterieladung", "", KW_N_ROLES, NULL},
    {"Akkustand", "", KW_N_ROLES, NULL},
    {"Volta mais rapida", "", KW_N_ROLES, NULL},
    {"Giri totali", "", KW_N_ROLES, NULL},
    {"Nombre total de tours", "", KW_N_ROLES, NULL},
};

/* The same letters in words that qualify nothing. */
static const struct heading_case plain[] = {
    {"Drehzahl 1/min", "", KW_ROLE_RPM, "rpm"},
    {"EGT left", "C", KW_ROLE_EGT, "C"},
    {"K\xC3\xBChlmitteltemperatur", "", KW_ROLE_WATER_TEMP, NULL},
    {"Nivel bateria (V)", "", KW_ROLE_BATTERY_V, "V"},
    {"Voltaje de carga", "", KW_ROLE_BATTERY_V, NULL},
    {"Charge voltage battery [V]", "", KW_ROLE_BATTERY_V, "V"},
    {"Drosselklappenwinkel (%)", "", KW_ROLE_THROTTLE, "%"},
    {"Throttle angle", "%", KW_ROLE_THROTTLE, "%"},
    {"TKopf_C", "", KW_ROLE_HEAD_TEMP, "C"},
    {"TAcqua", "", KW_ROLE_WATER_TEMP, NULL},
    {"TEscape {F}", "", KW_ROLE_EGT, "F"},
    {"GPSLat", "", KW_ROLE_LATITUDE, NULL},
    {"Bat (V)", "", KW_ROLE_BATTERY_V, "V"},
    {"System voltage", "", KW_ROLE_BATTERY_V, NULL},
    {"rotazioneMotore", "", KW_ROLE_RPM, NULL},
    {"Giro motor_U/min", "", KW_ROLE_RPM, "rpm"},
    {"[4] rundenimpuls", "", KW_ROLE_LAP_MARKER, NULL},
    {"Temperatura cilindro", "C", KW_ROLE_HEAD_TEMP, "C"},
    {"Dura\xC3\xA7\xC3\xA3o (ms)", "", KW_ROLE_TIME, "ms"},
    {"Lap duration", "s", KW_N_ROLES, NULL},
    {"3: t [s]", "", KW_ROLE_TIME, "s"},
    {"CH03 t", "s", KW_ROLE_TIME, "s"},
    {"T_s", "", KW_ROLE_TIME, "s"},
    {"t ms", "", KW_ROLE_TIME, "ms"},
    {"T min", "", KW_N_ROLES, NULL},
    {"Zeit_min", "", KW_ROLE_TIME, "min"},
    {"T1", "", KW_N_ROLES, NULL},
};

static void test_heading_qualifiers__derived_columns_are_no_readings(
    void **state)
{
    (void)state;
    CHECK(derived);
}

static void test_heading_qualifiers__other_words_are_left_alone(void **state)
{
    (void)state;
    CHECK(plain);
}

/* They may be all that there is, but lose to a plain one. */
static void test_heading_qualifiers__lesser_ones_lose(void **state)
{
    static const struct {
        const char *lesser;
        const char *plain;
    } pairs[] = {
        {"Time left [s]", "t [s]"},
        {"Time to go [s]", "Seconds"},
        {"Tempo restante [s]", "Durata"},
        {"Tempo restante", "Durata"},
        {"Time to finish", "Seconds"},
        {"Time offset", "Seconds"},
        {"Ecart temps [s]", "Secondes"},
        {"Runden gesamt", "Rd"},
        {"Ultima vuelta", "Vueltas"},
        {"Laps remaining", "Laps"},
        {"Drosselklappe Rohwert", "Gas"},
        {"Tempo min", "Tempo"},
        {"TPS volts", "Gas"},
        {"dTime [s]", "Time"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        const struct kw_heading lesser = kw_heading_read(pairs[i].lesser, "");
        const struct kw_heading other = kw_heading_read(pairs[i].plain, "");
        check_true(pairs[i].lesser, lesser.lesser && !other.lesser);
        check_true(pairs[i].lesser, lesser.role == other.role);
        check_true(pairs[i].lesser, lesser.score < other.score);
    }
}

/* The notice says what the column is. */
static void test_heading_qualifiers__reason_is_told(void **state)
{
    static const struct {
        const char *heading;
        const char *why;
    } cases[] = {
        {"Max RPM", "a highest or lowest value is no reading"},
        {"Meilleur tour", "the best value is no reading"},
        {"Drehzahl Mittelwert", "a mean is no reading"},
        {"RPM objetivo", "a target is no reading"},
        {"EGT limit", "a limit is no reading"},
        {"Ecart RPM", "a difference is no reading"},
        {"Variation regime", "a rate of change is no reading"},
        {"Giri rimanenti", "what remains is no reading"},
        {"Giro previsto", "a forecast or an estimate is no reading"},
        {"Giri totali", "a total is no reading"},
        {"Battery charge", "its charge is no voltage"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_string_equal(kw_heading_read(cases[i].heading, "").why,
                            cases[i].why);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            test_heading_qualifiers__derived_columns_are_no_readings),
        cmocka_unit_test(test_heading_qualifiers__other_words_are_left_alone),
        cmocka_unit_test(test_heading_qualifiers__lesser_ones_lose),
        cmocka_unit_test(test_heading_qualifiers__reason_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
