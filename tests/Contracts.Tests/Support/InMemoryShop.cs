using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Law;
using Contracts.Papers;
using Contracts.Proposals;
using Contracts.Quotes;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Tests.Support;

/// <summary>
/// The whole programme without a store: command lines in, histories and accounts out. It keeps what a store keeps
/// (sequence, recorded instant, keys) and nothing else, so a test reads like a command file.
/// </summary>
public sealed class InMemoryShop
{
    public static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["America/New_York"];

    private readonly Dictionary<string, ContractHistory> contracts = new(StringComparer.Ordinal);
    private readonly List<(Instant At, long Sequence, string Jurisdiction, TaxEntry Entry)> taxes = [];
    private readonly List<(Instant At, long Sequence, AdoptedPack Pack)> packs = [];
    private readonly HashSet<string> keys = new(StringComparer.Ordinal);
    private readonly Dictionary<string, GivenQuote> quotes = new(StringComparer.Ordinal);
    private readonly Dictionary<string, UnitHistory> units = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Proposal> proposals = new(StringComparer.Ordinal);
    private long sequence;

    /// <summary>What makes papers: here their data stand for their bytes.</summary>
    public PaperDesk Desk { get; set; } = new(
        static (data, kind, _) => new Printed(data, kind.Word() + ".0", "none", "application/json"),
        static (history, _) => PaperJson.Digest(Encoding.UTF8.GetBytes(string.Join('\n', history.Facts.Select(fact => $"{fact.Sequence} {fact.Event}")))),
        "tests");

    /// <summary>Every accepted command, for a reference that folds them its own way.</summary>
    public List<(JsonObject Command, Instant At, long Sequence)> Accepted { get; } = [];

    public IEnumerable<string> Contracts => contracts.Keys.Order(StringComparer.Ordinal);

    /// <summary>Applies a line recorded at its own `at`, or refuses it. A repeated key changes nothing.</summary>
    public Refusal? Apply(string line)
    {
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        if (read is null) { return refusal; }
        var at = read.At ?? throw new InvalidOperationException("A line in a test says when it is recorded.");
        if (keys.Contains(read.Command.Origin.Key)) { return null; }
        refusal = read.Command switch
        {
            Command.SetTax tax => SetTax(tax, at),
            Command.Bill bill => Bill(bill, at),
            Command.OnContract on => Decide(on, at),
            Command.OnUnit unit => Decide(unit, at),
            // The books are the store's; a close changes no account.
            Command.GiveQuote quote => Give(quote, at),
            Command.Propose propose => Propose(propose, at),
            Command.Approve approve => Approve(approve, at),
            Command.Decline decline => Decline(decline),
            Command.Close or Command.SetCalendar or Command.DescribeHousehold or Command.EraseHousehold
                or Command.SettleEntry or Command.SetEntryAside or Command.PayHousehold => null,
            Command.AdoptLaw law => Adopt(law, at),
            _ => throw new InvalidOperationException("No such command."),
        };
        if (refusal is not null) { return refusal; }
        keys.Add(read.Command.Origin.Key);
        Accepted.Add(((JsonObject)JsonNode.Parse(line)!, at, sequence));
        return null;
    }

    public ContractHistory History(string contract) =>
        contracts.GetValueOrDefault(contract, ContractHistory.Unsigned(contract));

    public Account? Account(string contract, LocalDate on, Instant? known = null)
    {
        var moment = known ?? Instant.MaxValue;
        var state = AccountFold.At(History(contract).AsKnownAt(moment), RatesAt(moment), on);
        return state is null ? null : global::Contracts.Disclosures.Account.Of(state, moment);
    }

    public ReferenceData RatesAt(Instant known)
    {
        var rates = ReferenceData.None;
        foreach (var (at, _, jurisdiction, entry) in taxes)
        {
            if (at <= known) { rates = rates.With(jurisdiction, entry); }
        }

        return packs.Where(pack => pack.At <= known).Aggregate(rates, (book, pack) => book.With(pack.Pack));
    }

    /// <summary>The rates recorded through an event, since several can share a moment.</summary>
    public ReferenceData RatesThrough(long sequence) => packs.Where(pack => pack.Sequence <= sequence).Aggregate(
        taxes.Where(tax => tax.Sequence <= sequence).Aggregate(ReferenceData.None, (rates, tax) => rates.With(tax.Jurisdiction, tax.Entry)),
        (book, pack) => book.With(pack.Pack));

    /// <summary>A paper that was issued, made again from what was known then.</summary>
    public (byte[]? Data, Printed? Printed, IReadOnlyList<string> Differs) MakeAgain(string contract, string id)
    {
        var issued = (ContractEvent.DocumentIssued)History(contract).Entries.Single(entry => entry.Key == id).Event;
        return Desk.MakeAgain(History(contract), RatesThrough(issued.ThroughSequence), issued);
    }

    private Refusal? SetTax(Command.SetTax tax, Instant at)
    {
        if (RatesAt(at).Knows(tax.Jurisdiction) && tax.Entry.From <= DayOf(at))
        {
            return new Refusal(RefusalCode.RateInUse, "The rate is in use.", "from");
        }

        taxes.Add((at, ++sequence, tax.Jurisdiction, tax.Entry));
        return null;
    }

    private Refusal? Adopt(Command.AdoptLaw law, Instant at)
    {
        var (pack, faults) = LawPackReader.Read(Encoding.UTF8.GetBytes(law.Pack), "pack");
        if (pack is null) { return new Refusal(RefusalCode.LawPackInvalid, faults[0].Detail, faults[0].Field); }
        packs.Add((at, ++sequence, new AdoptedPack(pack, law.Origin.By ?? "", law.CounselNote ?? "")));
        return null;
    }

    private Refusal? Give(Command.GiveQuote command, Instant at)
    {
        var (quote, refusal) = QuoteDesk.Give(command, Context(at));
        if (quote is null) { return refusal; }
        sequence++;
        quotes.Add(command.Quote, new GivenQuote(command.Quote, command.Offer, command.ValidThrough));
        return null;
    }

    private Refusal? Propose(Command.Propose command, Instant at)
    {
        if (ProposalDesk.Fault(command, proposals.GetValueOrDefault(command.Proposal)) is { } refusal) { return refusal; }
        if (command.Change is Command.OnContract on
            && ContractDecider.Decide(History(on.Contract), Context(at), on.Origin, on.On, on.Body) is Decision.Refused refused) { return refused.Refusal; }
        sequence++;
        proposals[command.Proposal] = new Proposal(command.Proposal, command.Change, command.Origin.By!, ProposalEnd.Open, null);
        return null;
    }

    private Refusal? Approve(Command.Approve command, Instant at)
    {
        var given = proposals.GetValueOrDefault(command.Proposal);
        var (change, refusal) = ProposalDesk.Approve(command, given);
        if (change is null) { return refusal; }
        if (change is Command.OnContract on && Decide(on, at) is { } stands) { return stands; }
        sequence++;
        proposals[command.Proposal] = given! with { End = ProposalEnd.Approved, By = command.Origin.By };
        return null;
    }

    private Refusal? Decline(Command.Decline command)
    {
        var given = proposals.GetValueOrDefault(command.Proposal);
        if (ProposalDesk.Fault(command, given) is { } refusal) { return refusal; }
        sequence++;
        proposals[command.Proposal] = given! with { End = ProposalEnd.Declined, By = command.Origin.By };
        return null;
    }

    private Refusal? Bill(Command.Bill bill, Instant at)
    {
        foreach (var contract in contracts.Keys.ToList())
        {
            Record(contract, at, bill.Origin, ContractDecider.Bill(contracts[contract], Context(at), bill.Through));
        }

        return null;
    }

    private Refusal? Decide(Command.OnContract command, Instant at)
    {
        var decision = ContractDecider.Decide(
            History(command.Contract), Context(at) with { Issue = Issuing(at) }, command.Origin, command.On, command.Body);
        if (decision is Decision.Refused refused) { return refused.Refusal; }
        var outcomes = ((Decision.Accepted)decision).Outcomes;
        var placing = Placing.HandedOut(History(command.Contract), outcomes);
        if (OneContractEach && placing is var (wanted, _) && Holder(wanted, command.Contract) is { } holder)
        {
            return new Refusal(RefusalCode.InstrumentOnOpenContract, $"The instrument '{wanted}' is on the open contract {holder}.", "serial");
        }

        if (placing is var (serial, kind) && UnitDecider.PlacementFault(Unit(serial), Uses(serial, at), command.On, kind) is { } unfit) { return unfit; }
        Record(command.Contract, at, command.Origin, outcomes);
        if (placing is var (placed, _) && Unit(placed).Acquisition is not null) { Record(placed, new UnitEvent.Placed(command.Contract) { On = command.On }, at, command.Origin); }
        return null;
    }

    /// <summary>Whether a unit is kept to one open contract, as the store's index does; most tests have one contract and need none of it.</summary>
    public bool OneContractEach { get; init; }

    private string? Holder(string serial, string contract) => contracts.Values.FirstOrDefault(history => history.Contract != contract && history.IsSigned
        && AccountFold.At(history, RatesAt(Instant.MaxValue), history.Facts[^1].Event.On) is
        {
            Status: ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost,
        } state && state.Serial == serial)?.Contract;

    /// <summary>What is known of a unit.</summary>
    public UnitHistory Unit(string serial) => units.GetValueOrDefault(serial, UnitHistory.Unknown(serial));

    /// <summary>The serial numbers of the units that are kept.</summary>
    public IEnumerable<string> Kept => units.Keys;

    /// <summary>One unit as of a day, as known at a moment, or null.</summary>
    public UnitLife? UnitLife(string serial, LocalDate on, Instant? known = null)
    {
        var moment = known ?? Instant.MaxValue;
        return global::Contracts.Fleet.UnitLife.At(Unit(serial).AsKnownAt(moment), contracts.Values.Select(history => history.AsKnownAt(moment)), RatesAt(moment), on);
    }

    private Refusal? Decide(Command.OnUnit command, Instant at)
    {
        var (fact, refusal) = UnitDecider.Decide(Unit(command.Serial), Uses(command.Serial, at), Context(at), command.Origin, command.On, command.Body);
        if (fact is null) { return refusal; }
        Record(command.Serial, fact, at, command.Origin);
        return null;
    }

    // Every contract is asked, so that a list of those that took the unit can be held against it.
    private List<UnitUse> Uses(string serial, Instant at) =>
        [.. contracts.Values.SelectMany(history => global::Contracts.Fleet.UnitLife.UsesOf(serial, history, RatesAt(at), DayOf(at)))];

    private void Record(string serial, UnitEvent fact, Instant at, CommandOrigin origin) =>
        units[serial] = Unit(serial).Evolve(new UnitRecorded(fact, ++sequence, at, origin.Key, origin.By, origin.Reason));

    private IssuePaper Issuing(Instant at) => (history, on, asked) =>
    {
        var (known, refusal) = KnownThrough.Of(history, asked, new KnownThrough(at, sequence));
        return refusal is not null ? (null, refusal) : Desk.Issue(history, RatesThrough(known!.ThroughSequence), on, asked, known);
    };

    private void Record(string contract, Instant at, CommandOrigin origin, IReadOnlyList<Outcome> outcomes)
    {
        foreach (var outcome in outcomes)
        {
            contracts[contract] = History(contract).Evolve(new Recorded(
                outcome.Event, ++sequence, at, origin.Key, origin.By, origin.Reason, outcome.Cause, origin.Approved));
        }
    }

    private DecisionContext Context(Instant at) => new(RatesAt(at), DayOf(at), Quotes: quotes);

    private static LocalDate DayOf(Instant at) => at.InZone(Zone).Date;
}
