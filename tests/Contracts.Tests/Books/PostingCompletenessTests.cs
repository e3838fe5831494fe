using System.Runtime.CompilerServices;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Payments;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>No event and no part of a charge is without its rule.</summary>
public sealed class PostingCompletenessTests
{
    private static readonly (ChargeKind Kind, ChargePart Part)[] Occurring =
    [
        (ChargeKind.DeliveryTax, ChargePart.Tax),
        (ChargeKind.Installment, ChargePart.Tax), (ChargeKind.Installment, ChargePart.Rent), (ChargeKind.Installment, ChargePart.Plan),
        (ChargeKind.Accessories, ChargePart.Tax), (ChargeKind.Accessories, ChargePart.Price),
        (ChargeKind.Late, ChargePart.Tax), (ChargeKind.Late, ChargePart.Fee),
        (ChargeKind.Unreturned, ChargePart.Tax), (ChargeKind.Unreturned, ChargePart.Fee),
        (ChargeKind.Returned, ChargePart.Tax), (ChargeKind.Returned, ChargePart.Fee),
        (ChargeKind.Loss, ChargePart.Fee),
        (ChargeKind.RefundToRecover, ChargePart.Fee),
        (ChargeKind.Purchase, ChargePart.Tax), (ChargeKind.Purchase, ChargePart.Price),
    ];

    private static readonly Dictionary<string, PaymentMade> NoPayments = [];

    public static TheoryData<string> Events => [.. typeof(ContractEvent).GetNestedTypes().Select(type => type.Name)];

    [Theory]
    [MemberData(nameof(Events))]
    public void Every_event_has_an_entry_or_a_reason_for_none(string name)
    {
        foreach (var took in new[] { true, false })
        {
            var entry = PostingRules.EntryOf(Blank(name), took, NoPayments);
            if (entry is Entry.None none) { Assert.EndsWith(".", none.Why, StringComparison.Ordinal); }
        }
    }

    [Fact]
    public void Every_kind_of_charge_has_a_receivable_and_every_part_that_occurs_an_account_against_it()
    {
        Assert.Equal(Enum.GetValues<ChargeKind>(), Occurring.Select(pair => pair.Kind).Distinct());
        foreach (var (kind, part) in Occurring)
        {
            Assert.NotEqual(ChargeRules.Receivable(kind), ChargeRules.Against(kind, part));
            Assert.Equal(AccountType.Asset, Chart.Standard[ChargeRules.Receivable(kind)].Type);
            Assert.Contains(Chart.Standard[ChargeRules.Against(kind, part)].Type, new[] { AccountType.Liability, AccountType.Income });
            Assert.NotEqual(AccountType.Liability, Chart.Standard[ChargeRules.Uncollectible(part)].Type);
        }
    }

    [Fact]
    public void Every_event_that_brings_or_takes_money_or_credit_has_an_entry()
    {
        string[] posts = ["PaymentReceived", "BoughtEarly", "RefundIssued", "CreditGiven", "SteppedUp", "MerchandiseCreditSpent", "WrittenOff", "Recovered"];
        Assert.All(posts, name => Assert.IsNotType<Entry.None>(PostingRules.EntryOf(Blank(name), true, NoPayments)));
        var reversal = PostingRules.EntryOf(Blank("PaymentReversed"), true, new Dictionary<string, PaymentMade> { ["cash"] = new(BookAccount.CashDrawer, new Money(100)) });
        Assert.Equal(new Entry.Of(BookAccount.UnappliedCredit, BookAccount.CashDrawer, new Money(100), Movement.PaymentReversed), reversal);
    }

    /// <summary>An event of a kind with nothing in it but a method and the name of a payment: the rules ask for no more.</summary>
    private static ContractEvent Blank(string name)
    {
        var type = typeof(ContractEvent).GetNestedType(name)!;
        var blank = (ContractEvent)RuntimeHelpers.GetUninitializedObject(type);
        foreach (var property in type.GetProperties().Where(property => property.PropertyType == typeof(string) && property.CanWrite))
        {
            property.SetValue(blank, "cash");
        }

        return blank;
    }
}
