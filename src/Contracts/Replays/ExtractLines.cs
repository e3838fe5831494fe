using System.Collections.Immutable;
using System.Text.Json.Nodes;
using Contracts.Agreements;
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

    private JsonObject Command(string contract, Recorded entry)
    {
        var (name, fields) = Body(entry.Event);
        var line = Line(name, entry);
        line["contract"] = contract;
        line["on"] = LocalDatePattern.Iso.Format(entry.Event.On);
        foreach (var (field, value) in fields.ToList())
        {
            fields.Remove(field);
            if (value is not null) { line[field] = value; }
        }

        return line;
    }

    private JsonObject Line(string name, Recorded entry)
    {
        var line = new JsonObject { ["do"] = name, ["key"] = stranger.Of("K", entry.Key), ["at"] = InstantPattern.ExtendedIso.Format(entry.At) };
        if (entry.Actor is { } by) { line["by"] = stranger.Of("P", by); }
        if (entry.Reason is not null) { line["reason"] = NotShown; }
        return line;
    }

    private (string Name, JsonObject Fields) Body(ContractEvent fact) => fact switch
    {
        ContractEvent.Signed e => ("sign", Sign(e)),
        ContractEvent.PaymentReceived e => ("pay", Paid(e.Amount, e.Method, e.Reference)),
        ContractEvent.PaymentReversed e => ("reverse-payment", new JsonObject { ["payment"] = stranger.Of("K", e.Payment), ["code"] = e.Code }),
        ContractEvent.RefundIssued e => ("refund", Amount(e.Amount)),
        ContractEvent.CreditGiven e => ("credit", Amount(e.Amount)),
        ContractEvent.PlanElected => ("elect-plan", []),
        ContractEvent.PlanCancelled => ("cancel-plan", []),
        ContractEvent.InstrumentSwapped e => ("swap", new JsonObject { ["serial"] = Serial(e.Serial), ["returnBy"] = LocalDatePattern.Iso.Format(e.ReturnBy) }),
        ContractEvent.UnitReceived e => ("receive-unit", new JsonObject { ["serial"] = Serial(e.Serial) }),
        ContractEvent.InstrumentExchanged e => ("exchange", new JsonObject
        {
            ["instrument"] = InstrumentOf(e.Instrument), ["terms"] = TermsLines.Of(e.Terms), ["accessories"] = Accessories(e.Accessories),
        }),
        ContractEvent.Returned e => ("return", new JsonObject { ["condition"] = e.Condition is null ? null : NotShown }),
        ContractEvent.BoughtEarly e => ("buy", Paid(e.Amount, e.Method, e.Reference)),
        ContractEvent.FeeWaived e => ("waive", new JsonObject { ["fee"] = stranger.OfFee(e.Fee) }),
        ContractEvent.Moved e => ("move", new JsonObject { ["state"] = e.State, ["jurisdiction"] = e.Jurisdiction }),
        ContractEvent.LossReported e => ("report-loss", new JsonObject { ["kind"] = e.Kind, ["marketValue"] = e.MarketValue?.ToString() }),
        ContractEvent.Held => ("hold", []),
        ContractEvent.Released => ("release", []),
        ContractEvent.Reinstated e => ("reinstate", new JsonObject { ["serial"] = e.Serial is { } serial ? Serial(serial) : null }),
        ContractEvent.SteppedUp e => ("step-up", new JsonObject
        {
            ["share"] = e.Share.ToString(), ["sale"] = new JsonObject { ["description"] = NotShown, ["price"] = e.SalePrice.ToString() },
        }),
        ContractEvent.WrittenOff e => ("write-off", Amount(e.Amount)),
        ContractEvent.Recovered e => ("recover", Amount(e.Amount)),
        _ => throw new System.Diagnostics.UnreachableException($"No command made {fact.GetType().Name}."),
    };

    private JsonObject Sign(ContractEvent.Signed e) => new()
    {
        ["household"] = stranger.Of("H", e.Household), ["instrument"] = InstrumentOf(e.Instrument), ["state"] = e.State, ["jurisdiction"] = e.Jurisdiction,
        ["startOn"] = LocalDatePattern.Iso.Format(e.StartOn), ["terms"] = TermsLines.Of(e.Terms), ["accessories"] = Accessories(e.Accessories), ["planElected"] = e.WithPlan,
    };

    private JsonObject Paid(Money amount, string method, string? reference) => new()
    {
        ["amount"] = amount.ToString(), ["method"] = method, ["reference"] = reference is null ? null : stranger.Of("R", reference),
    };

    private static JsonObject Amount(Money amount) => new() { ["amount"] = amount.ToString() };

    private string Serial(string serial) => stranger.Of("S", serial);

    private JsonObject InstrumentOf(Instrument instrument)
    {
        var line = new JsonObject { ["kind"] = instrument.Kind, ["serial"] = Serial(instrument.Serial) };
        if (instrument.Condition is { } condition) { line["condition"] = condition; }
        if (instrument.Cost is { } cost) { line["cost"] = cost.ToString(); }
        if (instrument.RetailValue is { } value) { line["retailValue"] = value.ToString(); }
        if (instrument.EarlierRents is { } rents) { line["earlierRents"] = rents.ToString(); }
        if (instrument.SchoolUse is true) { line["schoolUse"] = true; }
        if (instrument.Location is not null) { line["location"] = NotShown; }
        return line;
    }

    private static JsonArray Accessories(ImmutableArray<Accessory> accessories) =>
        [.. accessories.Select(one => (JsonNode)new JsonObject { ["description"] = NotShown, ["price"] = one.Price.ToString() })];

    private JsonObject SetTax(ReferenceFact.Tax tax)
    {
        var line = new JsonObject
        {
            ["do"] = "set-tax", ["key"] = stranger.Of("K", $"tax {tax.Sequence}"), ["at"] = InstantPattern.ExtendedIso.Format(tax.At), ["jurisdiction"] = tax.Jurisdiction,
        };
        TermsLines.Add(line, tax.Entry);
        return line;
    }

    /// <summary>Who adopted a pack and what counsel said of it move no figure.</summary>
    private JsonObject Adopt(ReferenceFact.Law law) => new()
    {
        ["do"] = "adopt-law", ["key"] = stranger.Of("K", $"law {law.Sequence}"), ["at"] = InstantPattern.ExtendedIso.Format(law.At),
        ["by"] = NotShown, ["counselNote"] = NotShown, ["pack"] = law.Text,
    };
}
