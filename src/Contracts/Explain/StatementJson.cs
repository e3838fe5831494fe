using System.Diagnostics;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>Writes statements in the shape of docs/interface.md: same order, same spelling, always.</summary>
public static class StatementJson
{
    /// <summary>A whole statement.</summary>
    /// <param name="json">Where to.</param>
    /// <param name="statement">The statement.</param>
    /// <param name="known">The moment up to which it was looked at what was recorded.</param>
    public static void Write(Utf8JsonWriter json, AccountStatement statement, Instant known)
    {
        json.WriteStartObject();
        json.WriteString("contract", statement.Contract);
        json.WriteString("from", Iso(statement.From));
        json.WriteString("through", Iso(statement.Through));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(known));
        Write(json, "opening", statement.Opening);
        json.WriteStartArray("movements");
        foreach (var movement in statement.Movements)
        {
            json.WriteStartObject();
            WriteInside(json, movement, movement.Balance);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartObject("sums");
        foreach (var kind in Enum.GetValues<MovementKind>()) { json.WriteString(kind.Word(), statement.Sum(kind).ToString()); }
        json.WriteEndObject();
        Write(json, "closing", statement.Closing);
        json.WriteEndObject();
    }

    /// <summary>The word of a kind of movement.</summary>
    public static string Word(this MovementKind kind) => kind switch
    {
        MovementKind.Charge => "charge",
        MovementKind.TakenBack => "taken-back",
        MovementKind.Payment => "payment",
        MovementKind.Reversal => "reversal",
        MovementKind.Goodwill => "goodwill",
        MovementKind.Refund => "refund",
        _ => throw new UnreachableException($"No word for {kind}."),
    };

    /// <summary>The members of a movement; the object is begun and ended by who asks.</summary>
    internal static void WriteInside(Utf8JsonWriter json, Movement movement, Money balance)
    {
        json.WriteString("on", Iso(movement.On));
        json.WriteString("kind", movement.Kind.Word());
        json.WriteString("says", movement.Says);
        json.WriteString("id", movement.Id);
        if (movement.Event is { } sequence) { json.WriteNumber("event", sequence); }
        json.WriteString("amount", movement.Amount.ToString());
        json.WriteString("balance", balance.ToString());
    }

    /// <summary>The figures at one end of a statement.</summary>
    internal static void Write(Utf8JsonWriter json, string name, StatementFigures figures)
    {
        json.WriteStartObject(name);
        json.WriteString("balance", figures.Balance.ToString());
        json.WriteString("pastDue", figures.PastDue.ToString());
        json.WriteString("unappliedCredit", figures.UnappliedCredit.ToString());
        json.WriteString("goodwillCredit", figures.GoodwillCredit.ToString());
        json.WriteString("equity", figures.Equity.ToString());
        json.WriteString("remainingToOwn", figures.RemainingToOwn.ToString());
        json.WriteEndObject();
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
