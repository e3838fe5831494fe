using Contracts.Agreements;
using Contracts.Payments;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.History;

/// <summary>
/// The one fold: known facts in, the account at the end of a day out. Pure, and the same for a decision, an answer
/// and a replay. Inside one day: the installment falls due, then the day's late and unreturned-unit fees, then
/// waiting money is applied, then the day's commands in sequence, each followed by waiting money.
/// </summary>
public sealed partial class AccountFold
{
    private readonly ReferenceData rates;
    private readonly Allocation allocation;
    private readonly List<ContractTerms> terms = new(1);
    private readonly List<(LocalDate EffectiveOn, Charge Installment)> lateWatch = [];
    private readonly List<(LocalDate EffectiveOn, string Serial, Charge Fee)> unitsOut = [];
    private readonly HashSet<string> waived = new(StringComparer.Ordinal);
    private readonly HashSet<long> overtaken = [];
    private readonly HashSet<long> expected = [];
    private readonly HashSet<long> withoutEffect;
    private readonly HashSet<string> unitsReceived = new(StringComparer.Ordinal);

    private ContractHistory history;
    private LocalDate through;
    private int next;
    private RentSchedule schedule;
    private ContractStatus status = ContractStatus.Signed;
    private string state = "";
    private string jurisdiction = "";
    private bool planElected;
    private Money merged;
    private Charge? lossCharge;
    private LocalDate today;
    private (string Key, LocalDate On)? purchase;

    private readonly IAccountWatcher? watcher;

    private AccountFold(ContractHistory history, ReferenceData rates, LocalDate through, HashSet<long> withoutEffect, IAccountWatcher? watcher)
    {
        this.watcher = watcher;
        allocation = new Allocation(watcher);
        this.withoutEffect = withoutEffect;
        this.history = history;
        this.rates = rates;
        this.through = through;
    }

    /// <summary>The account at the end of a day, or null when the contract was not signed by then.</summary>
    public static AccountState? At(ContractHistory history, ReferenceData rates, LocalDate on) => At(history, rates, on, null);

    /// <summary>The same while somebody watches; a fold that is made again gets a fresh watcher.</summary>
    internal static AccountState? At(ContractHistory history, ReferenceData rates, LocalDate on, Func<IAccountWatcher>? watcher) =>
        Lived(history, rates, on, watcher) is { } fold ? new AccountState(fold) : null;

    /// <summary>The fold itself, which can go on when more becomes known of later days.</summary>
    internal static AccountFold? Lived(ContractHistory history, ReferenceData rates, LocalDate on, Func<IAccountWatcher>? watcher)
    {
        if (!history.IsSigned || history.FactsSeen[0].Event.On > on) { return null; }
        var fold = new AccountFold(history, rates, on, [], watcher?.Invoke());
        fold.Run();

        // The look-ahead cannot see money that makes a family the owner in the middle of the day. Where it took a
        // return, a hold or a step-up for real that its own day then overtook, the fold is made again without it.
        while (fold.ExpectedTooMuch)
        {
            var without = new HashSet<long>(fold.withoutEffect);
            without.UnionWith(fold.expected.Intersect(fold.overtaken));
            fold = new AccountFold(history, rates, on, without, watcher?.Invoke());
            fold.Run();
        }

        return fold;
    }

    /// <summary>
    /// Lives on through a day with a history whose facts up to the day reached are the same ones; only money received
    /// may be added on that day itself, where it comes last. Answers false when an earlier day must be lived otherwise
    /// after all: then nothing of this fold can be used.
    /// </summary>
    internal bool GoOn(ContractHistory longer, LocalDate on)
    {
        history = longer;
        through = on;
        Run();
        return !ExpectedTooMuch;
    }

    private bool ExpectedTooMuch => expected.Count > 0 && expected.Overlaps(overtaken);

    private void Run()
    {
        while (true)
        {
            var day = NextDay();
            if (day > through) { break; }
            var first = next;
            var facts = history.FactsSeen;
            while (next < facts.Length && facts[next].Event.On == day) { next++; }
            LiveThrough(day, facts[first..next]);
        }

        BeginRental(through);
    }

    /// <summary>The next day on which a fact, an installment or a fee waits; the last day of all where nothing does.</summary>
    internal LocalDate NextDay()
    {
        var facts = history.FactsSeen;
        var day = next < facts.Length ? facts[next].Event.On : LocalDate.MaxIsoValue;
        if (Runs && schedule.HasNext) { day = Earlier(day, schedule.NextDue); }
        foreach (var watch in lateWatch) { day = Earlier(day, watch.EffectiveOn); }
        foreach (var unit in unitsOut) { day = Earlier(day, unit.EffectiveOn); }
        return day;
    }

    private static LocalDate Earlier(LocalDate left, LocalDate right) => left < right ? left : right;

    private bool Runs => status is ContractStatus.Signed or ContractStatus.Active && !AwaitsDelivery;

    private void LiveThrough(LocalDate day, ReadOnlySpan<Recorded> facts)
    {
        today = day;
        watcher?.BeginDay(day);
        var signing = facts.Length > 0 ? facts[0].Event as ContractEvent.Signed : null;
        if (signing is not null) { Sign(signing); }
        BeginRental(day);

        var runs = LookAhead(day, facts);
        // After the look-ahead: a move on the day of a sale brings its rate, as it does for the day's installment.
        if (signing is not null) { SellAccessories(signing.Accessories, day, facts[0].Key, facts[0].Sequence); }
        if (runs && schedule.HasNext && schedule.NextDue == day) { ChargeInstallment(day); }
        ChargeLateFees(day, runs);
        ChargeUnreturnedUnits(day);
        Settle();
        foreach (var fact in facts)
        {
            Apply(fact, day);
            Settle();
        }

        watcher?.EndDay(this);
    }

    private void Sign(ContractEvent.Signed signed)
    {
        terms.Add(signed.Terms);
        schedule = RentSchedule.FromSigning(signed.StartOn, signed.Terms);
        state = signed.State;
        jurisdiction = signed.Jurisdiction;
        RetailValue = signed.Instrument.RetailValue;
        GoUnder(PackOf(signed.State, signed.LawPack));
        planElected = signed.WithPlan;
        AwaitsDelivery = signed.StartsAtDelivery;
        Serial = signed.Instrument.Serial;
        Kind = signed.Instrument.Kind;
        watcher?.Names(signed.Instrument);
    }

    private void Settle()
    {
        allocation.Settle();
        switch (status)
        {
            case ContractStatus.Active or ContractStatus.OnHold when !schedule.HasNext && allocation.OpenRent == Money.Zero: Own("schedule"); break;
            case ContractStatus.Active or ContractStatus.OnHold when TriggerIsReached: Own(ShareOfRentPaid); break;
            case ContractStatus.Lost when LossIsPaid: Own(LossPaid); break;
            default: break; // Not the family's yet.
        }
    }

    private void Own(string by)
    {
        status = ContractStatus.Owned;
        OwnedOn = today;
        OwnedBy = by;
    }

    /// <summary>A loss that left nothing to charge is paid once no rent is open.</summary>
    private bool LossIsPaid =>
        lossCharge is null ? allocation.OpenRent == Money.Zero : lossCharge is { ReversedOn: null, IsPaid: true };

    /// <summary>Rental equity before exchanges: each set of terms credits its own share, rounded once.</summary>
    private Money RentCredit(bool pastDuePaid)
    {
        var credit = Money.Zero;
        for (var index = 0; index < terms.Count; index++)
        {
            var rent = allocation.Paid.RentUnder(index);
            if (pastDuePaid) { rent += OpenRentUnder(index); }
            credit += terms[index].CreditShare.Of(rent);
        }

        return credit;
    }

    private Money OpenRentUnder(int index)
    {
        var rent = Money.Zero;
        foreach (var item in allocation.Open)
        {
            if (item.Part == ChargePart.Rent && item.Charge.TermsIndex == index) { rent += item.Open; }
        }

        return rent;
    }

    private Money Equity(bool pastDuePaid) =>
        (RentCredit(pastDuePaid) - merged).Within(Money.Zero, terms[^1].PurchasePrice);
}
