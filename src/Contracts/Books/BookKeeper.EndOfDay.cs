using Contracts.History;
using Contracts.Instruments;
using Contracts.Terms;

namespace Contracts.Books;

/// <summary>What the end of a day posts from the account as it stands: units, equity, and periods cut short.</summary>
internal sealed partial class BookKeeper
{
    /// <summary>A unit counts as one dollar of the memo commodity of units.</summary>
    private static readonly Money OneUnit = new(100);

    private ContractStatus status = ContractStatus.Signed;
    private Whereabouts unit = Whereabouts.InStore;
    private Instrument? instrument;
    private Money equity;
    private Money held;
    private Money merchandiseGiven;
    private Money lostInMoves;
    private bool costIsTaxed;
    private readonly List<UnitMove> unitMoves = [];

    private enum Whereabouts
    {
        InStore,
        OnRent,
        Sold,
        Lost,
    }

    public IReadOnlyList<UnitMove> UnitMoves => unitMoves;

    public void Names(Instrument named)
    {
        // The unit that comes back for an exchange is in the store before the other one goes out.
        if (instrument is not null) { MoveUnit(Whereabouts.InStore); }
        instrument = named;
        costIsTaxed = named.Condition == "used";
    }

    public void NotCarried(Money amount) => lostInMoves += amount;

    public void EndDay(AccountFold fold)
    {
        MoveUnit(WhereIs(fold));
        TaxTheCost(fold.Jurisdiction);
        FollowEquity(fold);
        if (HasEnded(fold.Status)) { ReleaseWhatIsDeferred(); }
        status = fold.Status;
    }

    private static bool HasEnded(ContractStatus now) =>
        now is not (ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold);

    private static Whereabouts WhereIs(AccountFold fold) => fold.Status switch
    {
        ContractStatus.Active or ContractStatus.OnHold => Whereabouts.OnRent,
        ContractStatus.Lost => Whereabouts.Lost,
        // Paid for after its loss, be it on the same day: the cost leaves the books with the loss.
        ContractStatus.Owned => fold.OwnedAfterLoss ? Whereabouts.Lost : Whereabouts.Sold,
        _ => Whereabouts.InStore,
    };

    private void MoveUnit(Whereabouts to)
    {
        if (unit == to) { return; }
        var cost = instrument?.Cost ?? Money.Zero;
        // Whatever becomes of a unit, it leaves the place where it is and comes to the family's first.
        switch (unit)
        {
            case Whereabouts.InStore: Place(cost); break;
            case Whereabouts.Sold: Post(BookAccount.FleetOnRent, BookAccount.CostOfInstrumentsSold, cost, Movement.Found); CountUnits(1, Movement.Found); break;
            case Whereabouts.Lost: Post(BookAccount.FleetOnRent, BookAccount.UnitsLost, cost, Movement.Found); CountUnits(1, Movement.Found); break;
            default: break; // At the family's already.
        }

        switch (to)
        {
            case Whereabouts.InStore: Post(BookAccount.FleetInStore, BookAccount.FleetOnRent, cost, Movement.BackInStore); CountUnits(-1, Movement.BackInStore); break;
            case Whereabouts.Sold: Post(BookAccount.CostOfInstrumentsSold, BookAccount.FleetOnRent, cost, Movement.Sold); CountUnits(-1, Movement.Sold); break;
            case Whereabouts.Lost: Post(BookAccount.UnitsLost, BookAccount.FleetOnRent, cost, Movement.Lost); CountUnits(-1, Movement.Lost); break;
            default: break; // It stays with the family.
        }

        unit = to;
    }

    /// <summary>
    /// Where the shop pays the tax on what a unit cost it, it owes it when the unit first goes out. A used unit has been
    /// out before, and its tax was owed then.
    /// </summary>
    private void TaxTheCost(string jurisdiction)
    {
        if (costIsTaxed || unit != Whereabouts.OnRent) { return; }
        costIsTaxed = true;
        var entry = rates.On(jurisdiction, today);
        if (entry.Regime != TaxRegime.LessorCost) { return; }
        var cost = instrument?.Cost ?? Money.Zero;
        var tax = entry.Rate.Of(cost);
        if (entry.Rate.Units > 0) { TaxMoves?.Add(new TaxMove(today, Movement.TaxedOnCost, jurisdiction, entry, null, cost, tax, 1)); }
        Add(BookAccount.SalesTaxOnCost, Movement.TaxedOnCost, "", tax);
        Owe(jurisdiction, today, tax, Movement.TaxedOnCost);
    }

    private void Place(Money cost)
    {
        Post(BookAccount.FleetOnRent, BookAccount.FleetInStore, cost, Movement.Placed);
        CountUnits(1, Movement.Placed);
    }

    private void CountUnits(int count, Movement movement)
    {
        Post(BookAccount.UnitsOnRent, BookAccount.UnitsContra, OneUnit.Times(count), movement);
        if (instrument is { } named) { unitMoves.Add(new UnitMove(named.Serial, named.Cost, today, movement)); }
    }

    private void FollowEquity(AccountFold fold)
    {
        var now = fold.EquityNow(pastDuePaid: false);
        var change = now - equity;
        Memo(change + lostInMoves, change + lostInMoves > Money.Zero ? Movement.Earned : Movement.Unearned);
        Memo(Money.Zero - lostInMoves, Movement.NotCarried);
        var usable = CanUse(fold.Status) ? now : Money.Zero;
        Memo(usable - held - change, UseOf(fold.Status));
        (equity, held, lostInMoves) = (now, usable, Money.Zero);

        // What was spent stays given, also where the rent behind it was taken back: no account can give more back than it still owes.
        var goods = fold.MerchandiseCredit + fold.MerchandiseSpent - merchandiseGiven;
        Post(BookAccount.MerchandiseCreditGiven, BookAccount.MerchandiseCredit, goods, goods.IsPositive ? Movement.Given : Movement.Reopened);
        merchandiseGiven += goods;
    }

    /// <summary>Whether equity can still buy: while the contract runs, waits or its unit is missing.</summary>
    private static bool CanUse(ContractStatus now) =>
        now is ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost;

    private Movement UseOf(ContractStatus now) => now switch
    {
        ContractStatus.Owned or ContractStatus.SteppedUp => Movement.Used,
        _ when CanUse(now) && !CanUse(status) => Movement.Restored,
        _ => Movement.Lapsed,
    };

    private void Memo(Money amount, Movement movement) => Post(BookAccount.EquityHeld, BookAccount.EquityContra, amount, movement);

    /// <summary>
    /// Rent and plan of the running period are not refunded, so the end of a contract earns the rest of them: the days
    /// to come are taken back and their sum is earned today.
    /// </summary>
    private void ReleaseWhatIsDeferred()
    {
        var tomorrow = today.PlusDays(1);
        foreach (var (deferred, period, amount) in running)
        {
            if (period.To <= tomorrow) { continue; }
            var rest = amount - period.Through(amount, today);
            Post(deferred, ChargeRules.Earned(deferred), rest, Movement.ReleasedAtEnd);
            AddSpread(deferred, Movement.Released, tomorrow, period, Money.Zero - amount);
        }

        running.Clear();
    }
}
