using Contracts.History;
using Contracts.Law;
using Contracts.Schedule;
using NodaTime;

namespace Contracts.Equity;

/// <summary>
/// The price to own at the end of a day: its basis (<c>terms</c>, <c>none</c> once the contract has ended, or the
/// citation of the ceiling that binds), its tax, and the payoff that settles everything.
/// </summary>
/// <remarks>Rules on early purchase prices vary by state; not legal advice, ask local counsel.</remarks>
public sealed record EarlyPurchase(Money Price, string Basis, Money Tax, Money Payoff)
{
    public const string ByTerms = "terms";
    public const string None = "none";

    public static EarlyPurchase On(AccountState account)
    {
        var owed = account.PastDue - account.UnappliedCredit;
        if (account.HasEnded) { return new EarlyPurchase(Money.Zero, None, Money.Zero, Money.Max(owed, Money.Zero)); }
        var (price, basis) = Offered(account);
        var tax = account.TaxOn(account.On).OnPurchase(price);
        return new EarlyPurchase(price, basis, tax, Money.Max(owed + price + tax, Money.Zero));
    }

    private static (Money Price, string Basis) Offered(AccountState account)
    {
        var left = account.Terms.PurchasePrice - account.EquityWithPastDuePaid;
        var shop = Discount(account).Complement.Of(left);
        if (account.Law is not { } law || PriceCeilings.Of(law, Standing(account)) is not { } ceiling) { return (shop, ByTerms); }
        return shop <= ceiling.Price ? (shop, ByTerms) : (ceiling.Price, ceiling.Citation);
    }

    /// <summary>The discount of the first tier that has not ended on the day; none after the last (M49).</summary>
    internal static Rate Discount(AccountState account)
    {
        var schedule = account.Schedule;
        foreach (var tier in account.Terms.EarlyPurchase)
        {
            if (tier.ThroughMonth is not { } month) { return tier.Discount; }
            if (account.AwaitsDelivery || account.On < schedule.Anchor.PlusMonths(month + schedule.Shift)) { return tier.Discount; }
        }

        return Rate.Nothing;
    }

    /// <summary>What a ceiling is worked out from; installments are counted as those of the terms in force.</summary>
    internal static PriceStanding Standing(AccountState account)
    {
        var total = RentSchedule.CountFromZero(account.Terms);
        return new PriceStanding(
            account.History.Signing.On, account.On, account.Terms.CashPrice, account.RetailValue, account.Terms.TotalRent, account.Schedule.RentLeft,
            account.RentPaidWithPastDue, Math.Min(account.Schedule.Count, total), total, account.Terms.MonthlyRent);
    }
}
