using System.Collections.Immutable;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Explain;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Households;

/// <summary>Writes a family's statement in the shape of docs/interface.md: same order, same spelling, always.</summary>
public static class HouseholdStatementJson
{
    /// <summary>A whole statement.</summary>
    /// <param name="json">Where to.</param>
    /// <param name="statement">The statement.</param>
    /// <param name="known">The moment up to which it was looked at what was recorded.</param>
    /// <param name="shares">How a payment that was asked about would be dealt out, or null.</param>
    public static void Write(Utf8JsonWriter json, HouseholdStatement statement, Instant known, ImmutableArray<EntryShare>? shares)
    {
        json.WriteStartObject();
        json.WriteString("household", statement.Household);
        json.WriteString("from", Iso(statement.From));
        json.WriteString("through", Iso(statement.Through));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(known));
        json.WriteStartArray("contracts");
        foreach (var one in statement.Contracts) { Write(json, one); }
        json.WriteEndArray();
        json.WriteString("opening", statement.Opening.ToString());
        json.WriteStartArray("movements");
        foreach (var one in statement.Movements)
        {
            json.WriteStartObject();
            json.WriteString("contract", one.Contract);
            StatementJson.WriteInside(json, one.Movement, one.Balance);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("closing", statement.Closing.ToString());
        json.WriteString("pastDue", statement.PastDue.ToString());
        if (shares is { } dealt)
        {
            json.WriteStartArray("shares");
            foreach (var share in dealt)
            {
                json.WriteStartObject();
                json.WriteString("contract", share.Contract);
                json.WriteString("amount", share.Amount.ToString());
                json.WriteEndObject();
            }

            json.WriteEndArray();
        }

        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, HouseholdContract one)
    {
        json.WriteStartObject();
        json.WriteString("contract", one.Contract);
        json.WriteString("kind", one.Kind);
        json.WriteString("serial", one.Serial);
        json.WriteString("status", one.Status);
        StatementJson.Write(json, "opening", one.Opening);
        StatementJson.Write(json, "closing", one.Closing);
        if (one.NextDue is { } next)
        {
            json.WriteStartObject("nextDue");
            json.WriteString("on", Iso(next.On));
            json.WriteString("amount", next.Amount.ToString());
            json.WriteEndObject();
        }

        json.WriteEndObject();
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
