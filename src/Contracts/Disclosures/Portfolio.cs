using NodaTime;

namespace Contracts.Disclosures;

/// <summary>The sum over all accounts of a view: how many, in which status, and every money figure.</summary>
public sealed class Portfolio(LocalDate on, Instant known)
{
    public LocalDate On { get; } = on;

    public Instant Known { get; } = known;

    public int Accounts { get; private set; }

    public SortedDictionary<string, int> Statuses { get; } = new(StringComparer.Ordinal);

    /// <summary>The sums by the path of the figure in one account's JSON, in that order.</summary>
    public IReadOnlyList<(string Path, Money Sum)> Sums => [.. Figures.Select((figure, index) => (figure.Path, new Money(cents[index])))];

    private readonly long[] cents = new long[Figures.Length];

    /// <summary>Every money figure of an account, by its path.</summary>
    internal static readonly (string Path, Func<Account, Money> Of)[] Figures =
    [
        ("equity", a => a.Equity),
        ("carriedEquity", a => a.CarriedEquity),
        ("remainingToOwn", a => a.RemainingToOwn),
        ("pastDue", a => a.PastDue),
        ("unappliedCredit", a => a.UnappliedCredit),
        ("goodwillCredit", a => a.GoodwillCredit),
        ("merchandiseCredit", a => a.MerchandiseCredit),
        ("earlyPurchase.price", a => a.EarlyPurchase.Price),
        ("earlyPurchase.tax", a => a.EarlyPurchase.Tax),
        ("earlyPurchase.payoff", a => a.EarlyPurchase.Payoff),
        ("paid.total", a => a.Paid.Total),
        ("paid.rent", a => a.Paid.Rent),
        ("paid.plan", a => a.Paid.Plan),
        ("paid.tax", a => a.Paid.Tax),
        ("paid.fees", a => a.Paid.Fees),
        ("paid.accessories", a => a.Paid.Accessories),
        ("paid.purchase", a => a.Paid.Purchase),
        ("remainingBySchedule", a => a.RemainingBySchedule),
        ("totalCost", a => a.TotalCost),
        ("costOfRental", a => a.CostOfRental),
        ("nextDue.amount", a => a.NextDue?.Amount ?? Money.Zero),
    ];

    public void Add(Account account)
    {
        Accounts++;
        Statuses[account.Status] = Statuses.GetValueOrDefault(account.Status) + 1;
        for (var index = 0; index < Figures.Length; index++) { cents[index] += Figures[index].Of(account).Cents; }
    }
}
