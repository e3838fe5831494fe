using NodaTime;

namespace Contracts.Law;

/// <summary>What a price cap limits.</summary>
public enum CapSubject
{
    CashPrice,
    TotalOfPayments,

    /// <summary>The total of payments less the cash price.</summary>
    CostOfRental,
}

/// <summary>Which rental of a unit a cap is for.</summary>
public enum WhichRental
{
    Any,
    First,
    Later,
}

/// <summary>What a price cap is measured by.</summary>
public enum CapBase
{
    CashPrice,

    /// <summary>What the unit cost the shop.</summary>
    Cost,

    /// <summary>The highest cash price that the pack's caps allow for this unit.</summary>
    MaximumCashPrice,

    /// <summary>The highest total that the pack's caps allow for the unit's first rental.</summary>
    MaximumTotalOfFirstRental,

    /// <summary>The average retail value where the shop is.</summary>
    RetailValue,
}

/// <summary>What the early purchase price starts from.</summary>
public enum PriceFormula
{
    /// <summary>The act leaves it to the agreement.</summary>
    Contract,
    CashPrice,

    /// <summary>Rent that has not fallen due.</summary>
    PaymentsNotYetDue,

    /// <summary>The total of payments less what was paid.</summary>
    TotalLessPaid,
}

/// <summary>What that is multiplied by.</summary>
public enum PriceTimes
{
    /// <summary>A plain factor.</summary>
    Share,

    /// <summary>Installments not yet due over all installments.</summary>
    RemainingOverTotal,

    /// <summary>Retail value over the total of payments.</summary>
    RetailOverTotal,
}

/// <summary>What a charge for a missing unit is measured by.</summary>
public enum LossBasis
{
    /// <summary>What the unit would have sold for when it was lost; a fact that somebody has to give.</summary>
    FairMarketValue,

    /// <summary>The early purchase price of the day.</summary>
    EarlyPurchasePrice,

    /// <summary>Rent that has not fallen due.</summary>
    RemainingRent,

    /// <summary>The cash price x payments not yet due over all payments.</summary>
    CashPriceTimesRemaining,

    /// <summary>The cash price less all rent paid.</summary>
    CashPriceLessPaid,

    /// <summary>What a repair would cost; nobody records that.</summary>
    CostOfRepair,

    /// <summary>What the unit cost the shop; not worked with here.</summary>
    OriginalCost,
}

/// <summary>How late a payment must be before a fee is allowed.</summary>
/// <param name="Frequency">For which payments.</param>
/// <param name="Count">The number of days.</param>
/// <param name="BusinessDays">Whether only business days count.</param>
/// <param name="Bound"><c>more-than</c>: after that many days; <c>at-least</c>: on the last of them; <c>none-stated</c>: read as after.</param>
public sealed record Grace(string Frequency, int Count, bool BusinessDays, string Bound);

/// <summary>A window that runs whether or not the unit was handed in.</summary>
/// <param name="Frequency">For which payments.</param>
/// <param name="Count">The number of units.</param>
/// <param name="Unit"><c>days</c>, <c>business-days</c>, <c>lease-terms</c> or <c>missed-payments</c>.</param>
/// <param name="Start">What it runs from.</param>
/// <param name="ShareOfPeriod">Or, when later, this share of the payment period; null where the act says no such thing.</param>
public sealed record BaseWindow(string Frequency, int Count, string Unit, string Start, Fraction? ShareOfPeriod);

/// <summary>One step of a window after a return.</summary>
/// <param name="Measure"><c>any</c>, <c>payments-made</c> (by count) or <c>money-paid</c> (by amount), each over the whole agreement.</param>
/// <param name="Bound"><c>at-most</c>, <c>less-than</c>, <c>at-least</c> or <c>more-than</c>; empty for any.</param>
/// <param name="Share">The share it is compared with.</param>
/// <param name="Length">How long the window is.</param>
public sealed record WindowTier(string Measure, string Bound, Fraction Share, Period Length)
{
    public bool Covers(Fraction share) => Bound switch
    {
        "at-most" => share <= Share,
        "less-than" => share < Share,
        "at-least" => share >= Share,
        "more-than" => share > Share,
        _ => true,
    };
}

/// <summary>The most a fee may be, as an act puts it together.</summary>
public abstract record FeeAmount
{
    private FeeAmount()
    {
    }

    /// <summary>The amount for a payment, exact and in cents; null where the act gives no figure.</summary>
    public abstract Fraction? For(Money payment);

    /// <summary>A fixed amount.</summary>
    public sealed record Flat(Money Amount) : FeeAmount
    {
        public override Fraction? For(Money payment) => Fraction.Of(Amount);
    }

    /// <summary>A share of the payment, or of what of it is late.</summary>
    public sealed record Percent(Fraction Share) : FeeAmount
    {
        public override Fraction? For(Money payment) => Share * Fraction.Of(payment);
    }

    /// <summary>The largest or the smallest of several, and never below a floor.</summary>
    public sealed record OneOf(bool Largest, IReadOnlyList<FeeAmount> Of, Money AtLeast) : FeeAmount
    {
        public override Fraction? For(Money payment)
        {
            Fraction? chosen = null;
            foreach (var part in Of)
            {
                if (part.For(payment) is not { } amount) { return null; }
                chosen = chosen is not { } best ? amount : Largest ? Fraction.Max(best, amount) : Fraction.Min(best, amount);
            }

            return chosen is { } found ? Fraction.Max(found, Fraction.Of(AtLeast)) : null;
        }
    }

    /// <summary>"Reasonable", "as agreed", "as a rule of the agency says": no figure.</summary>
    public sealed record NoFigure(string Word) : FeeAmount
    {
        public override Fraction? For(Money payment) => null;
    }
}
