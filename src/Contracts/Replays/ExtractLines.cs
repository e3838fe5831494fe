using System.Collections.Immutable;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Commands;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Replays;

/// <summary>
/// Accounts as a command file: their events turned back into the commands that made them, with the rates and law packs they
/// rest on, everybody in them a stranger. What follows by itself (notes, fees) is left to the rules.
/// </summary>
public sealed class ExtractLines
{
    private const string NotShown = "not shown";

    private readonly Stranger stranger = new();

    private readonly Dictionary<string, string> contracts = new(StringComparer.Ordinal);

    /// <summary>The new ids of the contracts by the old ones.</summary>
    public IReadOnlyDictionary<string, string> Contracts => contracts;

    /// <summary>The lines in the order of recording.</summary>
    /// <param name="histories">The contracts.</param>
    /// <param name="reference">Rates and law packs as they became known.</param>
    public IReadOnlyList<JsonObject> Of(IReadOnlyCollection<ContractHistory> histories, KnownReference reference)
    {
        foreach (var history in histories) { contracts[history.Contract] = stranger.Of("X", history.Contract); }
        var (areas, states) = Named(histories);
        var lines = new List<(long Sequence, JsonObject Line)>();
        foreach (var fact in reference.Facts)
        {
            if (fact is ReferenceFact.Tax tax && areas.Contains(tax.Jurisdiction)) { lines.Add((tax.Sequence, SetTax(tax))); }
            else if (fact is ReferenceFact.Law law && states.Contains(law.Pack.Pack.Jurisdiction)) { lines.Add((law.Sequence, Adopt(law))); }
        }

        var billed = new Dictionary<string, (long Sequence, JsonObject Line)>(StringComparer.Ordinal);
        foreach (var history in histories)
        {
            foreach (var entry in history.Entries)
            {
                if (entry.Event is ContractEvent.DocumentIssued || (entry.Event.IsNote && entry.Cause is not null)) { continue; }
                if (entry.Event.IsNote) { Bill(entry, billed); }
                else { lines.Add((entry.Sequence, Command(contracts[history.Contract], entry))); }
            }
        }

        lines.AddRange(billed.Values);
        return [.. lines.OrderBy(line => line.Sequence).Select(line => line.Line)];
    }

    private static (HashSet<string> Areas, HashSet<string> States) Named(IEnumerable<ContractHistory> histories)
    {
        var (areas, states) = (new HashSet<string>(StringComparer.Ordinal), new HashSet<string>(StringComparer.Ordinal));
        foreach (var entry in histories.SelectMany(history => history.Entries))
        {
            var (area, state) = entry.Event switch
            {
                ContractEvent.Signed e => (e.Jurisdiction, e.State),
                ContractEvent.Moved e => (e.Jurisdiction, e.State),
                _ => (null, null),
            };
            if (area is null || state is null) { continue; }
            areas.Add(area);
            states.Add(state);
        }

        return (areas, states);
    }

    /// <summary>One run noted all of them: it went at least through the last day it noted.</summary>
    private void Bill(Recorded note, Dictionary<string, (long Sequence, JsonObject Line)> billed)
    {
        var through = LocalDatePattern.Iso.Format(note.Event.On);
        if (billed.TryGetValue(note.Key, out var run))
        {
            if (string.CompareOrdinal(through, (string)run.Line["through"]!) > 0) { run.Line["through"] = through; }
            billed[note.Key] = (Math.Min(run.Sequence, note.Sequence), run.Line);
            return;
        }

        var line = Line("bill", note);
        line["through"] = through;
        billed[note.Key] = (note.Sequence, line);
    }

    /// <summary>The command as it was given, everybody in it a stranger.</summary>
    private JsonObject Command(string contract, Recorded entry)
    {
        var (by, reason) = (entry.Actor is { } actor ? stranger.Of("P", actor) : null, entry.Reason is null ? null : NotShown);
        var line = CommandWriter.Line(new Command.OnContract(contract, entry.Event.On, FactCommands.Of(entry.Event))
        {
            Origin = new CommandOrigin(stranger.Of("K", entry.Key), by, reason),
        });
        line["at"] = InstantPattern.ExtendedIso.Format(entry.At);
        Hide(line);
        return line;
    }

    private JsonObject Line(string name, Recorded entry)
    {
        var line = new JsonObject { ["do"] = name, ["key"] = stranger.Of("K", entry.Key), ["at"] = InstantPattern.ExtendedIso.Format(entry.At) };
        if (entry.Actor is { } by) { line["by"] = stranger.Of("P", by); }
        if (entry.Reason is not null) { line["reason"] = NotShown; }
        return line;
    }

    /// <summary>Whatever somebody typed goes, or gets another name; a name of a field says which, wherever in the command it is.</summary>
    private void Hide(JsonObject json)
    {
        foreach (var (field, value) in json.ToList())
        {
            switch (value)
            {
                // Terms are figures through and through.
                case JsonObject when field == "terms": break;
                case JsonObject inner: Hide(inner); break;
                case JsonArray list:
                    foreach (var one in list.OfType<JsonObject>()) { Hide(one); }
                    break;
                case JsonValue text when text.GetValueKind() == System.Text.Json.JsonValueKind.String: Hide(json, field, (string)text!); break;
                default: break; // Numbers and yes or no make figures.
            }
        }
    }

    private void Hide(JsonObject json, string field, string text)
    {
        switch (field)
        {
            case "household": json[field] = stranger.Of("H", text); break;
            case "serial": json[field] = stranger.Of("S", text); break;
            case "reference": json[field] = stranger.Of("R", text); break;
            case "dispute": json[field] = stranger.Of("D", text); break;
            case "digest": json[field] = new string('0', text.Length); break;
            case "payment" or "damage" or "about": json[field] = stranger.Of("K", text); break;
            case "fee": json[field] = stranger.OfFee(text); break;
            case "shop" or "quote": json.Remove(field); break;
            case "description" or "location" or "carrier" or "says" or "title": json[field] = NotShown; break;
            case "condition" when text is not ("new" or "used"): json[field] = NotShown; break;
            // Which account money comes in on hangs on the word, and whether there is a fee on the code; any other word says nothing but itself.
            case "method" when !PostingRules.KnowsMethod(text): json[field] = stranger.Of("M", text); break;
            case "code" when !IsReturnCode(text): json[field] = stranger.Of("C", text); break;
            default: break;
        }
    }

    private static bool IsReturnCode(string code) =>
        code == AccountFold.EntryError || (code.Length == 3 && code[0] is 'R' or 'C' && char.IsAsciiDigit(code[1]) && char.IsAsciiDigit(code[2]));

    private JsonObject SetTax(ReferenceFact.Tax tax)
    {
        var line = new JsonObject
        {
            ["do"] = "set-tax", ["key"] = stranger.Of("K", $"tax {tax.Sequence}"), ["at"] = InstantPattern.ExtendedIso.Format(tax.At), ["jurisdiction"] = tax.Jurisdiction,
        };
        TaxLines.Add(line, tax.Entry);
        return line;
    }

    /// <summary>Who adopted a pack and what counsel said of it move no figure.</summary>
    private JsonObject Adopt(ReferenceFact.Law law) => new()
    {
        ["do"] = "adopt-law", ["key"] = stranger.Of("K", $"law {law.Sequence}"), ["at"] = InstantPattern.ExtendedIso.Format(law.At),
        ["by"] = NotShown, ["counselNote"] = NotShown, ["pack"] = law.Text,
    };
}
