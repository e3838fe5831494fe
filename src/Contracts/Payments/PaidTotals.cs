namespace Contracts.Payments;

/// <summary>What money has paid so far, by the words a disclosure uses. Goodwill and waiting money do not count.</summary>
internal sealed class PaidTotals
{
    private readonly List<Money> rentByTerms = new(2);

    public Money Rent { get; private set; }

    public Money Plan { get; private set; }

    public Money Tax { get; private set; }

    public Money Fees { get; private set; }

    public Money Accessories { get; private set; }

    /// <summary>The early purchase price and a loss charge.</summary>
    public Money Purchase { get; private set; }

    public Money Total => Rent + Plan + Tax + Fees + Accessories + Purchase;

    public Money RentUnder(int termsIndex) => termsIndex < rentByTerms.Count ? rentByTerms[termsIndex] : Money.Zero;

    /// <summary>What an item's money counts as, or null where it has bought nothing: money that makes good a refund is the refund coming back.</summary>
    public static PaidFor? For(ChargeItem item) => (item.Charge.Kind, item.Part) switch
    {
        (ChargeKind.RefundToRecover, _) => null,
        (_, ChargePart.Tax) => PaidFor.Tax,
        (_, ChargePart.Rent) => PaidFor.Rent,
        (_, ChargePart.Plan) => PaidFor.Plan,
        (ChargeKind.Accessories, _) => PaidFor.Accessories,
        (ChargeKind.Purchase or ChargeKind.Loss, _) => PaidFor.Purchase,
        _ => PaidFor.Fees,
    };

    public void Add(ChargeItem item, Money amount)
    {
        switch (For(item))
        {
            case null: break;
            case PaidFor.Tax: Tax += amount; break;
            case PaidFor.Rent: AddRent(item.Charge.TermsIndex, amount); break;
            case PaidFor.Plan: Plan += amount; break;
            case PaidFor.Accessories: Accessories += amount; break;
            case PaidFor.Purchase: Purchase += amount; break;
            default: Fees += amount; break;
        }
    }

    private void AddRent(int termsIndex, Money amount)
    {
        Rent += amount;
        while (rentByTerms.Count <= termsIndex) { rentByTerms.Add(Money.Zero); }
        rentByTerms[termsIndex] += amount;
    }
}

/// <summary>What money has paid for.</summary>
internal enum PaidFor
{
    Rent,
    Plan,
    Tax,
    Fees,
    Accessories,

    /// <summary>The early purchase price and a loss charge.</summary>
    Purchase,
}
