using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Tests.Support;
using Contracts.WhatIf;
using Xunit;

namespace Contracts.Tests.WhatIf;

/// <summary>What would be, had one thing been otherwise: figures, where the two part, what comes and goes, and what puts the real account there.</summary>
public sealed class WhatIfTests
{
    private const string Late = """
        2026-09-05 sign
        2026-09-05 pay amount=45.00 method=cash
        2026-11-20 pay amount=38.00 method=check
        2026-12-05 pay amount=38.00 method=card
        """;

    [Fact]
    public void A_payment_dated_back_into_the_days_of_grace_takes_its_late_fee_away()
    {
        // Due 5 November, seven days of grace: paid on the 20th a fee of 5.00 stands since the 13th, paid on the 12th none.
        var answer = Answer(Late, "2026-12-10", """{"redate":"L3","on":"2026-11-12"}""");
        Assert.Equal("changed: payment of 38.00 by check on 2026-11-20, to payment of 38.00 by check on 2026-11-12", answer.Says);
        Assert.Equal("late:2026-11-05 2026-11-13 goes 5.00 ", Charges(answer));
        Assert.Equal("pastDue 5.00 0.00", Figures(answer, "pastDue"));
        Assert.Equal((Supposition.Date("2026-11-12"), "payment of 38.00 by check (supposed)", null), (answer.Departure!.On, answer.Departure.Says, answer.Departure.Event));
        var corrections = Corrections.Of(answer);
        Assert.True(corrections.Reaches);
        Assert.Equal(
            """
            waive 2026-11-13 late:2026-11-05
            """, Lines(corrections));
    }

    [Fact]
    public void After_eighteen_years_on_hold_the_day_of_parting_is_still_the_right_one()
    {
        // Day by day for eleven years, then by halving: both are on hold until the supposed release.
        var answer = Answer(
            """
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-10-01 hold reason=away
            2045-03-20 release
            """, "2045-06-30", """{"redate":"L4","on":"2045-03-02"}""");
        Assert.Equal(Supposition.Date("2045-03-02"), answer.Departure!.On);
    }

    [Fact]
    public void A_payment_that_was_never_made_leaves_its_installment_open_and_brings_a_late_fee()
    {
        var answer = Answer(Late, "2026-12-14", """{"remove":"L4"}""");
        Assert.Equal("late:2026-12-05 2026-12-13 comes  5.00", Charges(answer));
        Assert.Equal("L4", answer.Departure!.Event!.Key);
        Assert.Equal("pastDue 5.00 48.00", Figures(answer, "pastDue"));
        Assert.Equal("reverse-payment 2026-12-05 L4", Lines(Corrections.Of(answer)));
    }

    [Fact]
    public void A_payment_keyed_with_a_wrong_amount_is_taken_back_and_entered_again()
    {
        var answer = Answer(Late, "2026-12-10", """{"change":"L4","with":{"amount":"83.00"}}""");
        Assert.Equal("unappliedCredit 0.00 40.00", Figures(answer, "unappliedCredit"));
        var corrections = Corrections.Of(answer, "Invented Clerk");
        Assert.Equal("reverse-payment 2026-12-05 L4\npay 2026-12-05 83.00", Lines(corrections));
        Assert.All(corrections.Commands, command => Assert.Equal("Invented Clerk", command.Origin.By));
        Assert.Equal(corrections.Commands.Select(command => command.Origin.Key), Corrections.Of(answer).Commands.Select(command => command.Origin.Key));
    }

    [Theory]
    [InlineData("2026-09-16", "2026-09-09", "2026-09-16")]
    [InlineData("2026-09-07", "2026-09-07", null)]
    public void A_delivery_on_another_day_is_put_right_by_one_fact(string day, string dated, string? came)
    {
        const string ordered = "2026-09-05 sign begins=delivery\n2026-09-09 deliver\n2026-09-09 pay amount=45.00 method=cash";
        var answer = Answer(ordered, "2026-11-12", $$"""{"redate":"L2","on":"{{day}}"}""");
        var corrections = Corrections.Of(answer);
        Assert.True(corrections.Reaches);
        var command = Assert.Single(corrections.Commands);
        Assert.Equal((Supposition.Date(dated), new ContractCommand.Deliver(came is null ? null : Supposition.Date(came))), (command.On, command.Body));
    }

    [Fact]
    public void An_added_command_that_the_rules_refuse_is_refused_in_their_words()
    {
        var (answer, refusal) = Supposition.Ask(Script.Given(Late).Shop, "2026-12-10", """{"add":{"do":"elect-plan","on":"2026-10-01"}}""");
        Assert.Null(answer);
        Assert.Equal(RefusalCode.TooLate, refusal!.Code);
    }

    [Fact]
    public void Supposed_at_its_own_moment_a_choice_counts_from_then_and_the_corrections_say_why_the_account_cannot_get_there()
    {
        // 7.00 a month with each of two installments; today the plan can be chosen from 5 December on only.
        var answer = Answer(Late, "2026-12-10", """{"add":{"do":"elect-plan","on":"2026-10-01","at":"2026-10-01T16:00:00Z"}}""");
        Assert.Equal("pastDue 5.00 19.00", Figures(answer, "pastDue"));
        var corrections = Corrections.Of(answer);
        Assert.False(corrections.Reaches);
        Assert.Equal("elect-plan 2026-12-05", Lines(corrections));
        Assert.Contains(corrections.Left, figure => figure is { Figure: "pastDue", Before: 1200, After: 1900 });
        var refused = Assert.Single(corrections.Refused);
        Assert.Equal((RefusalCode.TooLate, "2026-11-05"), (refused.Refusal.Code, refused.Refusal.RightFigure));
    }

    [Fact]
    public void Under_other_terms_the_fee_the_price_and_what_was_fixed_by_them_are_found_again()
    {
        const string bought = Late + "\n2026-12-10 buy amount=775.60 method=card";
        var shop = Script.Given(Late).Shop;
        var payoff = shop.Account("C-1", Supposition.Date("2026-12-10"))!.EarlyPurchase.Payoff.ToString();
        var answer = Answer(bought.Replace("775.60", payoff, StringComparison.Ordinal), "2026-12-11", """{"change":"L1","with":{"terms":{"lateFee":{"amount":"0.00","graceDays":7}}}}""");
        Assert.Equal("late:2026-11-05 2026-11-13 goes 5.00 ", Charges(answer));
        // The family paid 5.00 more than this payoff would have been: it waits as credit, and the purchase would have been refused as it was given.
        Assert.Equal("unappliedCredit 0.00 5.00", Figures(answer, "unappliedCredit"));
        var fact = Assert.Single(answer.Facts);
        Assert.Equal(("L5", FactStanding.WouldBeRefused, RefusalCode.PurchaseAmountWrong), (fact.Fact.Key, fact.Standing, fact.Refusal!.Code));
    }

    [Fact]
    public void A_price_that_the_engine_fixed_is_fixed_anew_under_other_terms_and_what_was_paid_stays()
    {
        // Equity 121.00 of 1195.00. At 30 percent off 751.80 was paid for the rest; at 50 percent it would be 537.00, and 214.80 waits.
        var answer = Answer(Late + "\n2026-12-10 buy amount=756.80 method=card", "2026-12-11", """{"change":"L1","with":{"terms":{"earlyPurchase":[{"discount":"0.50"}]}}}""");
        Assert.Equal("paid.purchase 751.80 537.00", Figures(answer, "paid.purchase"));
        Assert.Equal("unappliedCredit 0.00 214.80", Figures(answer, "unappliedCredit"));
    }

    [Fact]
    public void Of_two_choices_of_one_day_the_later_recorded_counts_so_the_moment_of_a_supposed_one_matters()
    {
        // The script records at noon, 16:00 UTC.
        const string elected = "2026-09-05 sign intro=0x0.00\n2026-10-01 elect-plan";
        var before = Answer(elected, "2026-10-06", """{"add":{"do":"cancel-plan","on":"2026-10-01","at":"2026-10-01T15:00:00Z"}}""");
        Assert.Empty(before.Figures);
        var after = Answer(elected, "2026-10-06", """{"add":{"do":"cancel-plan","on":"2026-10-01","at":"2026-10-01T17:00:00Z"}}""");
        Assert.Equal("pastDue 88.00 81.00", Figures(after, "pastDue"));
    }

    [Fact]
    public void What_a_tax_rate_learned_later_would_refuse_is_not_laid_to_the_change()
    {
        // Bought for a day ahead at 8 percent; then 10 percent is set from before that day.
        var script = Script.Given("2026-09-05 sign area=taxed\n2026-09-05 pay amount=48.60 method=cash");
        var payoff = script.On("2026-12-20").EarlyPurchase.Payoff;
        script.When($"2026-12-20 @2026-12-10 buy amount={payoff} method=card").ThenAccepted();
        Assert.Null(script.Shop.Apply(
            """{"do":"set-tax","key":"later","at":"2026-12-12T17:00:00Z","jurisdiction":"taxed","rate":"0.10","from":"2026-12-15","taxes":{"rent":true,"plan":true,"fees":true,"sale":true}}"""));
        var (answer, refusal) = Supposition.Ask(script.Shop, "2026-12-21", """{"change":"L2","with":{"method":"check"}}""");
        Assert.True(answer is not null, refusal?.Detail);
        Assert.Empty(answer.Facts);
        // The purchase itself, moved by no day, is the purchase as it was and is not decided again.
        Assert.Empty(Supposition.Ask(script.Shop, "2026-12-21", """{"redate":"L3","on":"2026-12-20"}""").Answer!.Figures);
    }

    [Fact]
    public void A_fee_that_was_waived_comes_back_without_its_waiver_and_no_command_charges_it_again()
    {
        var answer = Answer(Late + "\n2026-12-06 waive fee=late:2026-11-05 reason=kindness", "2026-12-10", """{"remove":"L5"}""");
        Assert.Equal("late:2026-11-05 2026-11-13 comes  5.00", Charges(answer));
        var corrections = Corrections.Of(answer);
        Assert.False(corrections.Reaches);
        Assert.Empty(corrections.Commands);
        Assert.Contains(corrections.Left, figure => figure is { Figure: "pastDue", Before: 0, After: 500 });
    }

    [Fact]
    public void Terms_that_the_act_of_the_state_forbids_can_be_supposed_and_that_is_told()
    {
        var answer = Answer("2026-09-05 sign state=NY\n2026-09-05 pay amount=45.00 method=cash", "2026-09-20", """{"change":"L1","with":{"terms":{"lateFee":{"graceDays":2}}}}""");
        var fact = Assert.Single(answer.Facts);
        Assert.Equal(("L1", FactStanding.WouldBeRefused, RefusalCode.UnlawfulTerms), (fact.Fact.Key, fact.Standing, fact.Refusal!.Code));
        Assert.Equal("""changed: signed on 2026-09-05, with {"terms":{"lateFee":{"graceDays":2}}}""", answer.Says);
    }

    [Fact]
    public void Once_something_is_recorded_the_keys_of_the_corrections_are_others()
    {
        var script = Script.Given(Late);
        var first = Corrections.Of(Supposition.Ask(script.Shop, "2026-12-10", """{"remove":"L4"}""").Answer!);
        script.When("2026-12-10 pay amount=1.00 method=cash").ThenAccepted();
        var second = Corrections.Of(Supposition.Ask(script.Shop, "2026-12-10", """{"remove":"L4"}""").Answer!);
        Assert.NotEqual(first.Commands[0].Origin.Key, second.Commands[0].Origin.Key);
    }

    [Fact]
    public void A_day_long_after_the_recording_is_supposed_to_have_been_recorded_then()
    {
        // Recorded on 20 November; a command may be dated 31 days ahead and no more (M11).
        var answer = Answer(Late, "2026-12-28", """{"redate":"L3","on":"2026-12-27"}""");
        Assert.Equal(Supposition.Date("2026-11-20"), answer.Departure!.On);
    }

    [Fact]
    public void A_choice_moved_to_an_earlier_day_is_supposed_to_have_been_recorded_by_then()
    {
        var answer = Answer(Late + "\n2026-12-08 elect-plan", "2026-12-10", """{"redate":"L5","on":"2026-11-01"}""");
        Assert.Equal("pastDue 5.00 19.00", Figures(answer, "pastDue"));
        var corrections = Corrections.Of(answer);
        Assert.False(corrections.Reaches);
        Assert.Contains(corrections.Refused, refused => refused.Refusal.Code == RefusalCode.TooLate);
    }

    [Fact]
    public void A_reversal_of_a_payment_that_was_never_made_falls_away_with_it()
    {
        var answer = Answer(Late + "\n2026-12-12 reverse-payment payment=L4 code=R01 reason=bank", "2026-12-12", """{"remove":"L4"}""");
        var fact = Assert.Single(answer.Facts);
        Assert.Equal(("L5", FactStanding.FallsAway), (fact.Fact.Key, fact.Standing));
        Assert.Equal("returned:L5 2026-12-12 goes 20.00 ", Charges(answer));
        Assert.Equal("waive 2026-12-12 returned:L5", Lines(Corrections.Of(answer)));
    }

    [Fact]
    public void A_return_that_a_supposed_payment_overtakes_is_said()
    {
        const string returned = """
            2026-09-05 sign price=45.00 intro=1x45.00
            2026-09-20 return condition=good
            """;
        var answer = Answer(returned, "2026-09-25", """{"add":{"do":"pay","on":"2026-09-06","amount":"45.00","method":"cash"}}""");
        var (refused, overtaken) = (answer.Facts.Single(fact => fact.Standing == FactStanding.Overtaken), answer.Words.Single(word => word.Figure == "status"));
        Assert.Equal(("L2", "returned", "owned"), (refused.Fact.Key, overtaken.From, overtaken.To));
        Assert.Equal("pay 2026-09-06 45.00", Lines(Corrections.Of(answer)));
    }

    [Fact]
    public void Under_another_law_pack_its_limit_counts_and_no_command_brings_the_account_there()
    {
        // Hawaii's act limits the price to own to cash price x installments left / all of them (Haw. Rev. Stat. 481M-6); Oregon's pack has no such limit.
        var answer = Answer("2026-09-05 sign cash=1000.00 tiers= intro=0x0.00\n2026-09-05 pay amount=38.00 method=cash", "2026-09-20", """{"law":"HI.1"}""");
        Assert.Equal("signed under the law pack HI.1", answer.Says);
        Assert.Equal("terms", answer.Before!.EarlyPurchase.Basis);
        // 32 installments of 1195.00 at 38.00, one of them due: 1000.00 x 31 / 32 = 968.75.
        Assert.Equal("earlyPurchase.price 1157.00 968.75", Figures(answer, "earlyPurchase.price"));
        Assert.Equal(Supposition.Date("2026-09-05"), answer.Departure!.On);
        var corrections = Corrections.Of(answer);
        Assert.False(corrections.Reaches);
        Assert.Empty(corrections.Commands);
    }

    [Fact]
    public void What_another_law_pack_forbids_at_signing_is_told_with_its_section()
    {
        // Two days of grace: N.Y. Pers. Prop. Law 501 asks for more where rent is paid by the month, as the pack states it.
        var answer = Answer("2026-09-05 sign late=5.00/2\n2026-09-05 pay amount=45.00 method=cash", "2026-09-20", """{"law":"NY.1"}""");
        var fact = Assert.Single(answer.Facts);
        Assert.Equal(("L1", FactStanding.WouldBeRefused, RefusalCode.UnlawfulTerms), (fact.Fact.Key, fact.Standing, fact.Refusal!.Code));
        Assert.StartsWith("N.Y. Pers. Prop. Law", fact.Refusal.Citation, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("""{"remove":"L1"}""", "field-invalid", "fact")]
    [InlineData("""{"remove":"L99"}""", "field-invalid", "fact")]
    [InlineData("""{"law":"ZZ.9"}""", "field-invalid", "law")]
    [InlineData("""{"change":"L4","with":{"do":"refund"}}""", "field-invalid", "with")]
    [InlineData("""{"change":"L4","with":{"amount":"x"}}""", "amount-invalid", "with.amount")]
    [InlineData("""{"change":"L4","with":{"amuont":"1.00"}}""", "field-unknown", "with.amuont")]
    [InlineData("""{"redate":"L1","on":"2026-09-06"}""", "on-before-signing", "on")]
    [InlineData("""{"add":{"do":"pay","contract":"C-2","on":"2026-12-01","amount":"1.00","method":"cash"}}""", "field-invalid", "add.contract")]
    [InlineData("""{"add":{"do":"bill","through":"2026-12-01"}}""", "field-invalid", "add.do")]
    [InlineData("""{"remove":"L2","law":"NY.1"}""", "field-missing", "law")]
    [InlineData("""{"add":{"do":"pay","do":"pay"}}""", "malformed-line", "add")]
    [InlineData("""{"add":{"do":"pay","\ud800":"1"}}""", "malformed-line", "add")]
    [InlineData("""{"change":"L4","with":{"amount":"1.00","amount":"2.00"}}""", "field-invalid", "with")]
    [InlineData("""{"change":"L4","with":{"\ud800":"1"}}""", "field-invalid", "with")]
    [InlineData("{}", "field-missing", "add")]
    [InlineData("[]", "malformed-line", null)]
    public void What_cannot_be_supposed_is_refused_with_its_field(string change, string code, string? field)
    {
        var (answer, refusal) = Supposition.Ask(Script.Given(Late).Shop, "2026-12-10", change);
        Assert.Null(answer);
        Assert.Equal((code, field), (refusal!.Slug, refusal.Field));
    }

    [Fact]
    public void A_fee_that_a_correction_brings_itself_is_named_by_the_key_that_the_correction_has()
    {
        // Swapped back, the other unit is due back the same day, so a fee of the correction's own has to be spared or waived: by the name it really has.
        var shop = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-10 swap serial=HC-2 returnBy=2026-09-15").Shop;
        var answer = Supposition.Ask(shop, "2026-09-20", """{"remove":"L3"}""").Answer!;
        var corrections = Corrections.Of(answer);
        Assert.True(corrections.Reaches);
        Assert.Null(Supposition.Apply(shop, corrections, Supposition.Noon("2026-09-20")));
        var real = shop.Account("C-1", Supposition.Date("2026-09-20"))!;
        Assert.Equal((answer.After!.Serial, answer.After.PastDue), (real.Serial, real.PastDue));
    }

    [Fact]
    public void Of_two_payments_in_the_same_words_each_has_corrections_of_its_own()
    {
        var shop = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-05 pay amount=45.00 method=cash").Shop;
        var keys = new[] { "L2", "L3" }.SelectMany(key => Corrections.Of(Supposition.Ask(shop, "2026-09-20", $$"""{"remove":"{{key}}"}""").Answer!).Commands)
            .Select(command => command.Origin.Key).ToList();
        Assert.Equal((2, 2), (keys.Count, keys.Distinct().Count()));
    }

    [Fact]
    public void An_account_with_a_damaged_unit_a_label_and_a_swap_for_it_can_be_asked_about()
    {
        var shop = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-15 report-damage description=a_dent estimate=45.00
            2026-09-16 issue-label serial=HC-1 carrier=post reference=RL-1
            2026-09-20 swap serial=HC-2 returnBy=2026-09-25 damage=L3
            """).Shop;
        var answer = Supposition.Ask(shop, "2026-09-21", """{"remove":"L2"}""").Answer!;
        Assert.Equal(("HC-2", new Money(5000)), (answer.After!.Serial, answer.After.PastDue));
    }

    [Fact]
    public void Corrections_given_for_real_bring_the_account_there()
    {
        foreach (var change in new[] { """{"redate":"L3","on":"2026-11-12"}""", """{"remove":"L4"}""", """{"change":"L4","with":{"amount":"83.00"}}""" })
        {
            var shop = Script.Given(Late).Shop;
            var answer = Supposition.Ask(shop, "2026-12-14", change).Answer!;
            Assert.Null(Supposition.Apply(shop, Corrections.Of(answer), Supposition.Noon("2026-12-14")));
            var real = shop.Account("C-1", Supposition.Date("2026-12-14"))!;
            Assert.All(Portfolio.Figures, figure => Assert.Equal(figure.Of(answer.After!), figure.Of(real)));
        }
    }

    private static WhatIfAnswer Answer(string life, string today, string change)
    {
        var (answer, refusal) = Supposition.Ask(Script.Given(life).Shop, today, change);
        Assert.True(answer is not null, refusal?.Detail);
        return answer;
    }

    private static string Figures(WhatIfAnswer answer, string path) => string.Join('\n', answer.Figures.Where(figure => figure.Figure == path)
        .Select(figure => $"{figure.Figure} {figure.Text(figure.Before)} {figure.Text(figure.After)}"));

    private static string Charges(WhatIfAnswer answer) =>
        string.Join('\n', answer.Charges.Select(charge => $"{charge.Id} {charge.On:uuuu-MM-dd} {charge.How} {charge.Before} {charge.After}"));

    private static string Lines(Corrections corrections) => string.Join('\n', corrections.Commands.Select(command => $"{command.Body switch
    {
        ContractCommand.Pay pay => $"pay {command.On:uuuu-MM-dd} {pay.Amount}",
        ContractCommand.ReversePayment reverse => $"reverse-payment {command.On:uuuu-MM-dd} {reverse.Payment}",
        ContractCommand.Waive waive => $"waive {command.On:uuuu-MM-dd} {waive.Fee}",
        ContractCommand.ElectPlan => $"elect-plan {command.On:uuuu-MM-dd}",
        var other => other.ToString(),
    }}"));
}
