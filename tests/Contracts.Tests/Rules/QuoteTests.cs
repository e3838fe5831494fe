using System.Text;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Quotes;
using Contracts.Terms;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>What a family is told: docs/quotes.md line by line, and what cannot be quoted or signed as quoted.</summary>
public sealed partial class QuoteTests
{
    private const string Given = "2026-09-01 quote quote=Q-1 start=2026-09-05 accessories=24.90 elected=yes validThrough=2026-09-05";
    private const string AsQuoted = "2026-09-05 sign quote=Q-1 accessories=24.90 elected=yes";

    private static readonly string Page = File.ReadAllText(Path.Combine(Repository.Root, "docs", "quotes.md"));

    [Fact]
    public void The_worked_example_of_the_page_is_what_the_engine_says()
    {
        var quote = QuoteMaker.Make(Read(Example()), Wexmoor(TaxRegime.EachPayment));
        var rows = quote.Installments.Zip(quote.Months, (due, month) => string.Join(
            " | ", $"{month.On:uuuu-MM-dd}", due.Rent, due.Plan, due.Tax, month.PaidSoFar, month.Equity, month.PriceToOwn, month.PriceTax,
            month.TotalIfBought, month.CostIfReturned));
        Assert.Equal(Row().Matches(Page).Select(match => match.Groups[1].Value), rows);
        Assert.Equal(("240.00", "15.00"), (quote.TotalCost.ToString(), quote.CostOfRental.ToString()));
        Assert.Equal(("286.80", "240.75"), (quote.TotalToTerm.ToString(), quote.TotalOutright.ToString()));
        Assert.All(quote.Months, month => Assert.Equal(month == quote.Months[^1] ? "none" : "terms", month.Basis));
    }

    /// <summary>240.00 at 7 % is 16.80, due with the first 20.00. After six rents 220.00 is charged: 15.40 kept, 1.40 comes back.</summary>
    [Fact]
    public void A_delivery_tax_is_paid_first_and_what_is_not_kept_comes_back_with_the_instrument()
    {
        var quote = QuoteMaker.Make(Read(Example()), Wexmoor(TaxRegime.WholePriceAtDelivery));
        Assert.Equal(("16.80", "0.00"), (quote.Installments[0].Tax.ToString(), quote.Installments[1].Tax.ToString()));
        Assert.Equal(("36.80", "15.40", "21.40"), Returned(quote.Months[0]));
        Assert.Equal(("261.80", "1.40", "260.40"), Returned(quote.Months[^2]));
        Assert.Equal(("286.80", "0.00", "286.80"), Returned(quote.Months[^1]));
        Assert.Equal("0.00", quote.Months[0].PriceTax.ToString());

        static (string, string, string) Returned(QuotedMonth month) =>
            (month.PaidSoFar.ToString(), month.RefundIfReturned.ToString(), month.CostIfReturned.ToString());
    }

    [Fact]
    public void Accessories_are_in_every_figure_of_money_paid_and_apart_from_the_rents()
    {
        var file = Example();
        file["accessories"] = new JsonArray(new JsonObject { ["description"] = "stand", ["price"] = "24.90" });
        var quote = QuoteMaker.Make(Read(file), Wexmoor(TaxRegime.EachPayment));
        Assert.Equal(("24.90", "1.74", "26.64"), (quote.Accessories.Price.ToString(), quote.Accessories.Tax.ToString(), quote.Accessories.Total.ToString()));
        Assert.Equal(("48.04", "313.44", "267.39", "240.00"),
            (quote.Months[0].PaidSoFar.ToString(), quote.TotalToTerm.ToString(), quote.TotalOutright.ToString(), quote.TotalCost.ToString()));
    }

    [Theory]
    [InlineData(TaxRegime.EachPayment)]
    [InlineData(TaxRegime.WholePriceAtDelivery)]
    [InlineData(TaxRegime.LessorCost)]
    [InlineData(TaxRegime.NetPriceAtPurchase)]
    public void Outright_is_a_sale_and_taxed_where_sales_are_whatever_the_regime_of_rents(TaxRegime regime)
    {
        Assert.Equal("15.75", QuoteMaker.Make(Read(Example()), Wexmoor(regime)).Outright.Tax.ToString());
        Assert.Equal("0.00", QuoteMaker.Make(Read(Example()), Wexmoor(regime, sale: false)).Outright.Tax.ToString());
    }

    [Fact]
    public void A_ceiling_that_binds_is_named_as_its_basis()
    {
        var file = Example();
        file["state"] = "NY";
        file["terms"]!["cashPrice"] = "100.00";
        var quote = QuoteMaker.Make(Read(file), Wexmoor(TaxRegime.EachPayment));
        // 100.00 x 6 of 7 installments still to come = 85.71, below the 154.00 of the terms.
        Assert.Equal(("85.71", "N.Y. Pers. Prop. Law § 504"), (quote.Months[0].PriceToOwn.ToString(), quote.Months[0].Basis));
    }

    [Fact]
    public void The_answer_has_the_fixed_shape_first_and_shows_no_household_and_no_cost()
    {
        var file = Example();
        file["household"] = "H-secret";
        file["instrument"] = new JsonObject { ["kind"] = "flute", ["serial"] = "HF-1", ["cost"] = "91.17" };
        // A late fee of 5.00 is above the cap of this act on a payment of a few dollars (Cal. Civ. Code § 1812.626).
        file["state"] = "CA";
        file["terms"]!["lateFee"] = new JsonObject { ["amount"] = "5.00", ["graceDays"] = 7 };
        var quote = QuoteMaker.Make(Read(file), Wexmoor(TaxRegime.EachPayment));
        var text = Encoding.UTF8.GetString(QuoteJson.Bytes(quote));
        var json = JsonNode.Parse(text)!.AsObject();
        Assert.Equal(["installments", "totalCost", "costOfRental", "months", "violations"], json.Take(5).Select(field => field.Key));
        Assert.Equal(["dueOn", "rent", "plan", "tax"], json["installments"]![0]!.AsObject().Select(field => field.Key));
        Assert.Equal(["on", "paidSoFar", "equity", "priceToOwn", "basis", "totalIfBought"], json["months"]![0]!.AsObject().Take(6).Select(field => field.Key));
        Assert.Equal(["rule", "citation", "detail"], json["violations"]![0]!.AsObject().Select(field => field.Key));
        Assert.Contains(json["violations"]!.AsArray(), found => (string)found!["rule"]! == "fee-cap" && ((string)found["citation"]!).StartsWith("Cal. Civ. Code", StringComparison.Ordinal));
        Assert.Equal("CA.2", (string)json["lawPack"]!);
        Assert.NotEmpty(json["unchecked"]!.AsArray());
        Assert.Contains("vary by state", (string)json["caution"]!, StringComparison.Ordinal);
        Assert.DoesNotContain("H-secret", text, StringComparison.Ordinal);
        Assert.DoesNotContain("91.17", text, StringComparison.Ordinal);
        Assert.EndsWith("}\n", text, StringComparison.Ordinal);
    }

    /// <summary>The digests of recorded quotes are of these bytes: a change here takes a new number of the form.</summary>
    [Fact]
    public void The_bytes_of_the_first_form_stay_as_they_are()
    {
        var quote = QuoteMaker.Make(Read(Example()), Wexmoor(TaxRegime.EachPayment));
        Assert.Equal(1, QuoteJson.Form);
        Assert.StartsWith("2d4b0179bf23de71a65d03afb67357b8b2dcc6f5c43a15d8ed", QuoteJson.Digest(quote), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("state", "\"ZZ\"", RefusalCode.StateUnknown, "state")]
    [InlineData("jurisdiction", "\"nowhere\"", RefusalCode.JurisdictionUnknown, "jurisdiction")]
    [InlineData("terms.monthlyRent", "\"0.00\"", RefusalCode.TermsInvalid, "terms.monthlyRent")]
    [InlineData("terms.monthlyRent", "\"0.01\"", RefusalCode.TermsInvalid, "terms.monthlyRent")]
    [InlineData("terms.creditShare", "\"0.00000001\"", RefusalCode.TermsInvalid, "terms.creditShare")]
    [InlineData("terms.creditShare", "\"1.01\"", RefusalCode.TermsInvalid, "terms.creditShare")]
    [InlineData("terms.plan", "null", RefusalCode.PlanNotOffered, "terms.plan")]
    [InlineData("terms.cashPrice", "225.00", RefusalCode.AmountInvalid, "terms.cashPrice")]
    [InlineData("terms.cashPrice", "null", RefusalCode.FieldMissing, "terms.cashPrice")]
    [InlineData("startOn", "\"2026-02-30\"", RefusalCode.DateInvalid, "startOn")]
    [InlineData("planElected", "\"yes\"", RefusalCode.FieldInvalid, "planElected")]
    [InlineData("startsOn", "\"2026-09-05\"", RefusalCode.FieldUnknown, "startsOn")]
    public void What_cannot_be_signed_cannot_be_quoted_and_the_field_is_named(string field, string value, RefusalCode code, string named)
    {
        var file = Example();
        var parts = field.Split('.');
        (parts.Length == 1 ? file : file["terms"]!.AsObject())[parts[^1]] = JsonNode.Parse(value);
        var (offer, refusal) = QuoteReader.Read(Encoding.UTF8.GetBytes(file.ToJsonString()));
        refusal ??= QuoteMaker.Fault(offer!, Wexmoor(TaxRegime.EachPayment));
        Assert.Equal((code, named), (refusal!.Code, refusal.Field));
    }

    [Fact]
    public void Terms_at_their_limits_are_quoted_to_the_end()
    {
        var file = Example();
        file["terms"] = JsonNode.Parse(
            """{"cashPrice":"1000000000","purchasePrice":"1000000000","introductory":{"months":1200,"payment":"1000000000"},"monthlyRent":"1000000","creditShare":"1.00","plan":{"monthly":"1000000000","chargedInIntroductory":true}}""");
        Assert.Single(QuoteMaker.Make(Read(file), Wexmoor(TaxRegime.EachPayment)).Months);
        file["terms"]!["introductory"]!["payment"] = "0.00";
        Assert.Equal(1001, QuoteMaker.Make(Read(file), Wexmoor(TaxRegime.EachPayment)).Months.Length);
    }

    [Fact]
    public void A_signing_that_keeps_its_quote_is_accepted_through_the_last_day_and_remembers_it()
    {
        var script = Script.Given(Given).When(AsQuoted).ThenAccepted();
        Assert.Equal("Q-1", script.Shop.History("C-1").Signing.Quote);
        Script.Given(Given).When(AsQuoted + " serial=HC-2").ThenAccepted();
    }

    [Theory]
    [InlineData("household=H-2", "household", "H-1")]
    [InlineData("state=NY", "state", "OR")]
    [InlineData("area=taxed", "jurisdiction", "untaxed")]
    [InlineData("start=2026-09-06", "startOn", "2026-09-05")]
    [InlineData("cash=1200.00", "terms.cashPrice", "1195.00")]
    [InlineData("price=1200.00 cash=1195.00", "terms.purchasePrice", "1195.00")]
    [InlineData("intro=3x45.00", "terms.introductory.months", "2")]
    [InlineData("intro=2x46.00", "terms.introductory.payment", "45.00")]
    [InlineData("rent=37.99", "terms.monthlyRent", "38.00")]
    [InlineData("share=0.99", "terms.creditShare", "1.00")]
    [InlineData("tiers=*:0.25", "terms.earlyPurchase", "0.40 through month 3, 0.30 through month 12, 0.25 for ever")]
    [InlineData("plan=8.00", "terms.plan.monthly", "7.00")]
    [InlineData("planInIntro=yes", "terms.plan.chargedInIntroductory", "false")]
    [InlineData("late=6.00/7", "terms.lateFee.amount", "5.00")]
    [InlineData("late=5.00/6", "terms.lateFee.graceDays", "7")]
    [InlineData("returned=21.00", "terms.returnedPaymentFee", "20.00")]
    [InlineData("elected=no", "planElected", "true")]
    [InlineData("accessories=25.00", "accessories", "stand 24.90")]
    [InlineData("condition=used", "instrument.condition", "new")]
    public void A_signing_that_is_not_what_was_quoted_is_refused_with_the_field_and_what_was(string change, string field, string right)
    {
        // A word of the line that the change is about is replaced; the script takes no word twice.
        var name = change.Split('=')[0];
        var line = string.Join(' ', AsQuoted.Split(' ').Where(word => !word.StartsWith($"{name}=", StringComparison.Ordinal)).Append(change));
        var script = Script.Given(Given).When(line).ThenRefused(RefusalCode.QuoteDiffers, right);
        Assert.Equal(field, script.LastRefusal!.Field);
    }

    [Fact]
    public void A_quote_changes_no_account_and_a_signing_without_one_is_free() =>
        Script.Given(Given).When("2026-09-05 sign rent=50.00").ThenAccepted();

    private static JsonObject Example() => (JsonObject)JsonNode.Parse(ExampleFile().Match(Page).Groups[1].Value)!;

    private static Offer Read(JsonObject file)
    {
        var (offer, refusal) = QuoteReader.Read(Encoding.UTF8.GetBytes(file.ToJsonString()));
        Assert.True(offer is not null, refusal?.Detail);
        return offer;
    }

    private static ReferenceData Wexmoor(TaxRegime regime, bool sale = true) => ReferenceData.None.With(
        "wexmoor", new TaxEntry(new LocalDate(2026, 1, 1), Rate.Parse("0.07"), new TaxedParts(Rent: true, Plan: false, Fees: false, Sale: sale), regime));

    [GeneratedRegex(@"```json\n(\{ ""state"".*?)```", RegexOptions.Singleline)]
    private static partial Regex ExampleFile();

    [GeneratedRegex(@"^\| (20\d\d-.*) \|$", RegexOptions.Multiline)]
    private static partial Regex Row();
}
