using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>What must hold of tax in every life, under whatever regimes its areas come to have.</summary>
public sealed class TaxWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", System.Globalization.CultureInfo.InvariantCulture);

    private static void InEveryLife(Action<Life> holds) =>
        Gen.Int[0, int.MaxValue].Sample(seed => holds(Life.Generate(seed)), iter: Lives);

    [Fact]
    public void Every_tax_knows_its_entry_and_splits_by_authority_without_a_cent_over() => InEveryLife(life =>
    {
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var (on, _) = life.Question();
        if (AccountFold.At(life.Shop.History(life.Contract), rates, on) is not { } state) { return; }
        foreach (var charge in state.Charges.Where(charge => charge.Of(ChargePart.Tax).IsPositive))
        {
            Assert.True(rates.Knows(charge.Jurisdiction), $"{charge.Id} was taxed by nobody.");
            var tax = charge.Of(ChargePart.Tax);
            var entry = rates.On(charge.Jurisdiction, charge.TaxedOn);
            var split = entry.Split(charge.Jurisdiction, tax);
            Assert.Equal(tax, split.Aggregate(Money.Zero, (sum, part) => sum + part.Amount));
            Assert.All(split, part => Assert.True(part.Amount >= Money.Zero && part.Amount <= tax));
            // Nobody's share is a cent or more away from what it would be without cents.
            foreach (var part in entry.Parts.IsDefault ? [] : entry.Parts)
            {
                var exact = (decimal)tax.Cents * part.Rate.Units / Math.Max(entry.Rate.Units, 1);
                var share = split.SingleOrDefault(found => found.Authority == part.Authority).Amount.Cents;
                Assert.True(split.Length == 1 || Math.Abs(share - exact) < 1, $"{charge.Id}: {share} for {exact}");
            }
        }
    });

    [Fact]
    public void Naming_the_authorities_moves_no_figure() => InEveryLife(life =>
    {
        var plain = new InMemoryShop();
        foreach (var (command, _, _) in life.Shop.Accepted)
        {
            var without = (JsonObject)command.DeepClone();
            without.Remove("parts");
            if ((string?)without["regime"] == "each-payment") { without.Remove("regime"); }
            Assert.Null(plain.Apply(without.ToJsonString()));
        }

        var (on, known) = life.Question();
        Assert.Equal(Text(life.Shop.Account(life.Contract, on, known)), Text(plain.Account(life.Contract, on, known)));
    });

    [Fact]
    public void At_most_one_delivery_tax_covers_the_rents_ahead_and_an_ended_contract_has_none() => InEveryLife(life =>
    {
        var (on, _) = life.Question();
        if (AccountFold.At(life.Shop.History(life.Contract), life.Shop.RatesAt(Instant.MaxValue), on) is not { } state) { return; }
        var standing = state.Charges.Where(charge => charge.Kind == ChargeKind.DeliveryTax && charge.ReversedOn is null).ToList();
        // What is kept names the day of an older entry; what still covers rents is of its own day.
        Assert.True(standing.GroupBy(charge => (charge.TermsIndex, charge.TaxedOn)).All(group => group.Count() == 1));
        if (state.Status is ContractStatus.Returned or ContractStatus.SteppedUp or ContractStatus.Cancelled)
        {
            var rents = state.Charges.Where(charge => charge.Kind == ChargeKind.Installment)
                .Aggregate(Money.Zero, (sum, charge) => sum + charge.Of(ChargePart.Rent));
            var tax = standing.Aggregate(Money.Zero, (sum, charge) => sum + charge.Of(ChargePart.Tax));
            // The highest rate is 9.25 %, and each of a handful of terms rounds once.
            Assert.True(tax.Cents <= (rents.Cents * 0.0925m) + standing.Count, $"{tax} kept of {rents}");
        }
    });

    private static string? Text(Account? account) => account is null ? null : AccountText.Of(account);
}
