using System.Diagnostics;
using System.Globalization;
using System.Text;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Law;
using Contracts.Quotes;
using Contracts.Store.Books;
using Contracts.Store.Quotes;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>
/// Decides the commands of one transaction in their order, each on what the ones before it left. Nothing is written
/// here: what was decided is gathered in <see cref="Findings"/>.
/// </summary>
internal sealed class BatchDecider(WriteScope scope, StoreSettings settings, Decider decider)
{
    private readonly PlacementDesk placements = new(scope);
    private readonly IssuingDesk issuing = new(scope, settings);
    private readonly HouseholdRecords households = new(scope);
    private Instant last = scope.Clock.Last;

    private ProposalRecords Proposals => field ??= new ProposalRecords(scope, decider, this);
    private EntryRecords Entries => field ??= new EntryRecords(scope, decider, this);

    private UnitRecords Units => field ??= new UnitRecords(scope, this);

    public Findings Findings { get; } = new(scope.Clock.NextSequence);

    /// <summary>Told after each command that was applied.</summary>
    public Action? Decided { get; set; }

    public async Task<CommandResult> DecideAsync(CommandRequest request, CancellationToken stop)
    {
        var key = request.Command.Origin.Key;
        if (scope.Applied.TryGetValue(key, out var already)) { return already; }
        if ((Moment(request.At, out var at) ?? SeenVersion.Moved(scope, request)) is { } untimely) { return new CommandResult.Refused(untimely); }
        var before = Findings.Events.Count;
        var (refusal, contract) = request.Command switch
        {
            Command.SetTax tax => (await SetTaxAsync(tax, at, stop).ConfigureAwait(false), null),
            Command.OnContract on => (await DecideAsync(on, at, stop).ConfigureAwait(false), on.Contract),
            Command.SetCalendar calendar => (SetCalendar(calendar, at), null),
            Command.AdoptLaw law => (AdoptLaw(law, at), null),
            Command.GiveQuote quote => (GiveQuote(quote, at), null),
            Command.DescribeHousehold told => (await households.DescribeAsync(told, at, Findings, stop).ConfigureAwait(false), null),
            Command.EraseHousehold erase => (await households.EraseAsync(erase, at, DayOf(at), Findings, stop).ConfigureAwait(false), null),
            Command.PayHousehold pay => (
                await households.PayAsync(pay, at, Findings, shares => Entries.ApplyAsync(shares, at, stop), stop).ConfigureAwait(false), null),
            Command.Propose propose => (await Proposals.ProposeAsync(propose, at, stop).ConfigureAwait(false), null),
            Command.Approve approve => await Proposals.ApproveAsync(approve, request.Version, at, stop).ConfigureAwait(false),
            Command.Decline decline => (Proposals.Decline(decline, at), null),
            Command.OnUnit unit => (await Units.DecideAsync(unit, at, stop).ConfigureAwait(false), null),
            Command.SettleEntry or Command.SetEntryAside => (await Entries.DecideAsync(request.Command, at, stop).ConfigureAwait(false), null),
            Command.Bill or Command.Close => throw new ArgumentException("A billing run or a close is not part of a batch.", nameof(request)),
            _ => throw new UnreachableException($"No such command: {request.Command.GetType().Name}."),
        };
        if (refusal is not null) { return new CommandResult.Refused(refusal); }
        var count = Findings.Events.Count - before;
        Stamp(new NewKey(key, contract, at, count));
        Decided?.Invoke();
        return new CommandResult.Applied(at, count);
    }

    /// <summary>The billing run of one contract: what is due by its day and not noted yet.</summary>
    public async Task<int> BillAsync(string contract, Command.Bill bill, Instant at, IReadOnlyList<Outcome> outcomes, CancellationToken stop)
    {
        if (outcomes.Count == 0) { return 0; }
        var known = scope.Contract(contract);
        var history = Record(known.History, outcomes, bill.Origin, at);
        var placed = await placements.SettleAsync(known, history, DayOf(at), Findings, stop).ConfigureAwait(false);
        // What falls due can only end a contract, so a bill never asks for an instrument somebody else holds.
        if (placed.Refusal is { } refusal) { throw new StoreException($"Contract {contract} was billed open again: {refusal.Detail}"); }
        scope.Put(contract, new Known(history, placed.Serial));
        if (settings.SimulatedClock) { Findings.ClockTo = at; }
        return outcomes.Count;
    }

    /// <summary>Records that a command is done; only this moves a simulated clock.</summary>
    public void Stamp(NewKey key)
    {
        Findings.Keys.Add(key);
        scope.Applied[key.Key] = new CommandResult.Already(key.At, key.Events);
        last = key.At;
        if (settings.SimulatedClock) { Findings.ClockTo = key.At; }
    }

    public DecisionContext ContextAt(Instant at) => new(scope.Rates, DayOf(at), scope.Shops, scope.Quotes);

    /// <summary>The moment a command is recorded at, or why it cannot be.</summary>
    public Refusal? Moment(Instant? wanted, out Instant at)
    {
        at = last;
        if (!settings.SimulatedClock)
        {
            return wanted is null
                ? null
                : new Refusal(RefusalCode.ClockNotSimulated, "This store keeps its own time; `at` is for a simulated clock.", "at");
        }

        if (wanted is not { } moment) { return new Refusal(RefusalCode.AtMissing, "A simulated clock needs `at`.", "at"); }
        at = Moments.ToMicroseconds(moment);
        return at >= last
            ? null
            : new Refusal(RefusalCode.AtGoesBack, "The store has already recorded a later moment.", "at", Moments.Text(last));
    }

    private Refusal? SetCalendar(Command.SetCalendar calendar, Instant at)
    {
        var first = calendar.FirstMonth.OnDayOfMonth(1);
        if (scope.Shops.ContainsKey(calendar.Shop) || calendar.Shop == ContractEvent.Signed.MainShop)
        {
            return new Refusal(RefusalCode.CalendarInUse, $"The shop '{calendar.Shop}' has a calendar already.", "shop");
        }

        if (scope.Clock.OpenFrom is { } open && first < open)
        {
            return new Refusal(RefusalCode.CalendarInUse, $"The books are closed before {Moments.Text(open)}.", "month", Moments.Text(open)[..7]);
        }

        var month = Moments.Text(first)[..7];
        Findings.Add(BookStreams.Calendars, null, new CalendarSet(calendar.Shop, month), at, calendar.Origin, null);
        scope.Shops = scope.Shops.SetItem(calendar.Shop, calendar.FirstMonth);
        return null;
    }

    private Refusal? AdoptLaw(Command.AdoptLaw law, Instant at)
    {
        var (pack, faults) = LawPackReader.Read(Encoding.UTF8.GetBytes(law.Pack), "pack");
        if (pack is null)
        {
            var first = faults[0];
            return new Refusal(RefusalCode.LawPackInvalid, $"{first.Rule}: {first.Field} {first.Detail}", first.Field.Length > 0 ? first.Field : "pack");
        }

        if (pack.Version <= scope.Rates.Law.LastVersion(pack.Jurisdiction))
        {
            var next = (scope.Rates.Law.LastVersion(pack.Jurisdiction) + 1).ToString(CultureInfo.InvariantCulture);
            return new Refusal(RefusalCode.LawPackNotNew, $"{pack.Reference} is not after the last version that is known.", "version", next);
        }

        var adopted = new LawPackAdopted(pack.Jurisdiction, pack.Version, pack.Digest, law.CounselNote, law.Pack);
        Findings.Add(LawPackAdopted.StreamOf(pack.Jurisdiction), null, adopted, at, law.Origin, null);
        scope.Rates = adopted.AddTo(scope.Rates, law.Origin.By ?? "");
        return null;
    }

    private Refusal? GiveQuote(Command.GiveQuote command, Instant at)
    {
        var (quote, refusal) = QuoteDesk.Give(command, ContextAt(at));
        if (quote is null) { return refusal; }
        var given = QuoteGiven.Of(command, quote.Offer.LawPack, QuoteJson.Digest(quote), QuoteJson.Form);
        Findings.Add(QuoteGiven.StreamOf(command.Quote), 0, given, at, command.Origin, null);
        scope.Quotes[command.Quote] = given.ToGiven();
        return null;
    }

    private async Task<Refusal?> SetTaxAsync(Command.SetTax tax, Instant at, CancellationToken stop)
    {
        if (scope.Rates.Knows(tax.Jurisdiction) && tax.Entry.From <= DayOf(at))
        {
            return new Refusal(
                RefusalCode.RateInUse,
                $"'{tax.Jurisdiction}' already has a rate; a new one can only start after {Moments.Text(DayOf(at))}.",
                "from", Moments.Text(DayOf(at).PlusDays(1)));
        }

        var item = Findings.Add(
            TaxRateSet.StreamOf(tax.Jurisdiction), null, TaxRateSet.Of(tax.Jurisdiction, tax.Entry), at, tax.Origin, null);
        var before = scope.Rates;
        issuing.RatesChange(item.Sequence, before);
        scope.Rates = before.With(tax.Jurisdiction, tax.Entry);
        await RatePostings.AddAsync(scope, Findings, tax.Jurisdiction, tax.Entry.From, before, item.Sequence, at, stop).ConfigureAwait(false);
        return null;
    }

    /// <summary>Decides a command on one contract and gathers what it brings, or says why not.</summary>
    public async Task<Refusal?> DecideAsync(Command.OnContract command, Instant at, CancellationToken stop)
    {
        var known = scope.Contract(command.Contract);
        var context = ContextAt(at);
        if (command.Body is ContractCommand.Issue issue)
        {
            var now = new Contracts.Papers.KnownThrough(at, scope.Clock.NextSequence + Findings.Events.Count - 1);
            context = context with { Issue = await issuing.OpenAsync(known.History, issue, now, stop).ConfigureAwait(false) };
        }

        var decision = decider.Decide(known.History, context, command);
        if (decision is Decision.Refused refused) { return refused.Refusal; }
        var outcomes = ((Decision.Accepted)decision).Outcomes;

        var placed = known.Placed;
        if (placed is null || PlacementDesk.IsConcerned(outcomes))
        {
            // The instrument is looked at before anything is gathered, since a refusal leaves no trace.
            if (await Units.FaultAsync(known.History, outcomes, context, stop).ConfigureAwait(false) is { } unfit) { return unfit; }
            var after = Preview(known.History, outcomes, command.Origin, at);
            (var taken, placed) = await placements.SettleAsync(known, after, DayOf(at), Findings, stop).ConfigureAwait(false);
            if (taken is not null) { return taken; }
        }

        scope.Put(command.Contract, new Known(Record(known.History, outcomes, command.Origin, at), placed));
        await Units.PlacedAsync(known.History, outcomes, at, command.Origin, stop).ConfigureAwait(false);
        return null;
    }

    private ContractHistory Preview(ContractHistory history, IReadOnlyList<Outcome> outcomes, CommandOrigin origin, Instant at)
    {
        var sequence = scope.Clock.NextSequence + Findings.Events.Count;
        foreach (var outcome in outcomes) { history = history.Evolve(Entry(outcome, sequence++, at, origin)); }
        return history;
    }

    private ContractHistory Record(ContractHistory history, IReadOnlyList<Outcome> outcomes, CommandOrigin origin, Instant at)
    {
        var version = history.Entries.Length;
        var (before, first) = (history, scope.Clock.NextSequence + Findings.Events.Count);
        foreach (var outcome in outcomes)
        {
            var item = Findings.Add(history.Contract, version, outcome.Event, at, origin, outcome.Cause);
            history = history.Evolve(Entry(outcome, item.Sequence, at, origin));
        }

        Findings.Postings.Add(new PostingJob(first, at, before, history, scope.Rates, scope.Rates));
        return history;
    }

    private static Recorded Entry(Outcome outcome, long sequence, Instant at, CommandOrigin origin) =>
        new(outcome.Event, sequence, at, origin.Key, origin.By, origin.Reason, outcome.Cause, origin.Approved);

    private LocalDate DayOf(Instant at) => at.InZone(settings.Zone).Date;
}
