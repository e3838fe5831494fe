using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.History;
using Contracts.Law;
using NodaTime;

namespace Contracts.Replays;

/// <summary>
/// The commands that make accounts, obeyed without a store: a file replays anywhere to the same figures. Papers, quotes,
/// proposals, households and closed months are beside the accounts and are passed over.
/// </summary>
public sealed class MemoryShop
{
    private readonly DateTimeZone zone;
    private readonly SortedDictionary<string, ContractHistory> contracts = new(StringComparer.Ordinal);
    private readonly HashSet<string> keys = new(StringComparer.Ordinal);
    private long sequence;

    /// <summary>An empty shop.</summary>
    /// <param name="zone">Where its days begin and end.</param>
    public MemoryShop(DateTimeZone zone) => this.zone = zone;

    /// <summary>Every contract so far, in the order of ids.</summary>
    public IReadOnlyCollection<ContractHistory> Histories => contracts.Values;

    /// <summary>Rates and law packs so far.</summary>
    public KnownReference Reference { get; private set; } = KnownReference.None;

    /// <summary>The instant of the last line.</summary>
    public Instant Last { get; private set; } = Instant.MinValue;

    /// <summary>Obeys a line at its own <c>at</c>, or tells why not; a repeated key changes nothing.</summary>
    public Refusal? Apply(ReadOnlyMemory<byte> line)
    {
        var (read, refusal) = CommandReader.Read(line);
        if (read is null) { return refusal; }
        if (read.At is not { } at || at < Last) { return new Refusal(RefusalCode.FieldMissing, "Each line needs an 'at' that is not before the line above.", "at"); }
        if (keys.Contains(read.Command.Origin.Key)) { return null; }
        Last = at;
        refusal = read.Command switch
        {
            Command.SetTax tax => SetTax(tax, at),
            Command.AdoptLaw law => Adopt(law, at),
            Command.Bill bill => Bill(bill, at),
            Command.OnContract { Body: not ContractCommand.Issue } on => Decide(on, at),
            _ => null, // Makes no account otherwise.
        };
        if (refusal is null) { keys.Add(read.Command.Origin.Key); }
        return refusal;
    }

    private Refusal? SetTax(Command.SetTax tax, Instant at)
    {
        if (Reference.Last.Knows(tax.Jurisdiction) && tax.Entry.From <= DayOf(at)) { return new Refusal(RefusalCode.RateInUse, "The rate is in use.", "from"); }
        Reference = Reference.Then(new ReferenceFact.Tax(++sequence, at, tax.Jurisdiction, tax.Entry));
        return null;
    }

    private Refusal? Adopt(Command.AdoptLaw law, Instant at)
    {
        var (pack, faults) = LawPackReader.Read(Encoding.UTF8.GetBytes(law.Pack), "pack");
        if (pack is null) { return new Refusal(RefusalCode.LawPackInvalid, faults[0].Detail, faults[0].Field); }
        Reference = Reference.Then(new ReferenceFact.Law(++sequence, at, new AdoptedPack(pack, law.Origin.By ?? "", law.CounselNote ?? ""), law.Pack));
        return null;
    }

    private Refusal? Bill(Command.Bill bill, Instant at)
    {
        foreach (var history in contracts.Values.ToList())
        {
            Record(history.Contract, at, bill.Origin, ContractDecider.Bill(history, Context(at), bill.Through));
        }

        return null;
    }

    private Refusal? Decide(Command.OnContract command, Instant at)
    {
        var decision = ContractDecider.Decide(History(command.Contract), Context(at), command.Origin, command.On, command.Body);
        if (decision is Decision.Refused refused) { return refused.Refusal; }
        Record(command.Contract, at, command.Origin, ((Decision.Accepted)decision).Outcomes);
        return null;
    }

    private void Record(string contract, Instant at, CommandOrigin origin, IReadOnlyList<Outcome> outcomes)
    {
        foreach (var outcome in outcomes)
        {
            contracts[contract] = History(contract).Evolve(new Recorded(
                outcome.Event, ++sequence, at, origin.Key, origin.By, origin.Reason, outcome.Cause, origin.Approved));
        }
    }

    private ContractHistory History(string contract) => contracts.GetValueOrDefault(contract) ?? ContractHistory.Unsigned(contract);

    private DecisionContext Context(Instant at) => new(Reference.Last, DayOf(at));

    private LocalDate DayOf(Instant at) => at.InZone(zone).Date;
}
