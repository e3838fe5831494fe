using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.DayWork;
using Contracts.Calendars;
using Contracts.Disputes;
using Contracts.History;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>Disputes and the grounds of holds. Everything in them is invented.</summary>
public sealed class DisputeTests
{
    private const string Digest = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08";

    // The family paid on 4 October, and the shop learns it on the 20th; on the 12th the statement showed a late fee.
    private const string Family = """
        2026-09-05 sign key=S
        2026-09-05 pay amount=45.00 method=cash
        2026-11-05 @2026-11-15 bill through=2026-11-15
        2026-11-14 @2026-11-15 issue kind=statement key=said
        2026-11-15 open-dispute dispute=D-1 claim=payment says=We_paid_in_time about=said key=D
        """;

    private const string Put = Family + "\n" + """
        2026-11-04 @2026-11-20 pay amount=38.00 method=check key=late-learned
        2026-11-20 attach-paper dispute=D-1 title=the_bank's_statement digest=9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08
        2026-11-21 answer-dispute dispute=D-1 finding=upheld says=The_payment_is_on_the_account_now key=A
        """;

    [Fact]
    public void A_dispute_keeps_what_was_said_and_what_is_so()
    {
        var dispute = Assert.Single(At(Script.Given(Put), "2026-11-21"));
        Assert.Equal(("D-1", "answered", "payment"), (dispute.Dispute, dispute.Standing, dispute.Claim.Claim));
        Assert.Equal((Digest, "upheld", "A"), (dispute.Papers.Single().Digest, dispute.Replies.Single().Finding, dispute.Replies.Single().Key));
        var reading = Reading(Script.Given(Put), dispute);
        Assert.Equal(Day("2026-11-14"), reading.On);
        Assert.Equal(
            [("equity", "45.00", "83.00"), ("pastDue", "43.00", "0.00")],
            reading.Figures.Where(one => one.Figure is "equity" or "pastDue").Select(one => (one.Figure, one.Said, one.IsSo)));
        Assert.Equal(["late-learned"], reading.Since.Select(fact => fact.Key));
        Assert.Equal("open", Assert.Single(At(Script.Given(Put), "2026-11-20")).Standing);
        Assert.Empty(At(Script.Given(Put), "2026-11-14"));
    }

    [Fact]
    public void Without_a_paper_the_reading_is_what_was_known_when_it_was_opened()
    {
        var script = Script.Given(Put.Replace(" about=said", "", StringComparison.Ordinal));
        var reading = Reading(script, Assert.Single(At(script, "2026-11-21")));
        Assert.Equal((Day("2026-11-15"), "43.00", "0.00"), (reading.On, reading.Figures.Single(one => one.Figure == "pastDue").Said, reading.Figures.Single(one => one.Figure == "pastDue").IsSo));
    }

    [Fact]
    public void The_answer_is_a_paper_with_both_readings()
    {
        var script = Script.Given(Put + "\n2026-11-21 @2026-11-22 issue kind=dispute-answer for=A key=letter");
        var paper = JsonNode.Parse(Encoding.UTF8.GetString(script.Shop.MakeAgain("C-1", "letter").Data!))!;
        Assert.Equal(("Answer to a dispute", "upheld"), ((string)paper["title"]!, (string)paper["dispute"]!["finding"]!));
        Assert.Contains(paper["dispute"]!["figures"]!.AsArray(), one => (string)one!["figure"]! == "equity" && (string)one["said"]! == "45.00" && (string)one["isSo"]! == "83.00");
        Assert.Equal("38.00", (string)paper["dispute"]!["since"]!.AsArray().Single()!["amount"]!);
        // No other paper changes by it: what was issued before keeps its digest.
        var statement = Encoding.UTF8.GetString(script.Shop.MakeAgain("C-1", "said").Data!);
        Assert.DoesNotContain("dispute", statement, StringComparison.Ordinal);
        Assert.DoesNotContain("title", statement, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("2026-11-22 open-dispute dispute=D-1 claim=other says=again", RefusalCode.DisputeAlreadyOpened)]
    [InlineData("2026-11-22 open-dispute dispute=D-2 claim=other says=again about=nothing", RefusalCode.DisputeSubjectUnknown)]
    [InlineData("2026-11-13 @2026-11-22 open-dispute dispute=D-2 claim=other says=again about=said", RefusalCode.DisputeSubjectUnknown)]
    [InlineData("2026-11-14 @2026-11-22 answer-dispute dispute=D-1 finding=upheld says=before_it", RefusalCode.DisputeUnknown)]
    [InlineData("2026-11-22 attach-paper dispute=D-9 title=a digest=9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08", RefusalCode.DisputeUnknown)]
    [InlineData("2026-11-20 @2026-11-22 close-dispute dispute=D-1 outcome=settled", RefusalCode.DisputeNotAnswered)]
    [InlineData("2026-11-20 @2026-11-22 close-dispute dispute=D-1 outcome=withdrawn", null)]
    [InlineData("2026-11-22 close-dispute dispute=D-1 outcome=settled", null)]
    public void A_dispute_goes_its_way(string line, RefusalCode? refused) => Assert.Equal(refused, Script.Given(Put).When(line).LastRefusal?.Code);

    [Fact]
    public void A_closed_dispute_takes_nothing_more_and_another_may_be_opened()
    {
        var script = Script.Given(Put + "\n2026-11-22 close-dispute dispute=D-1 outcome=not-agreed");
        script.When("2026-11-23 answer-dispute dispute=D-1 finding=not-upheld says=no").ThenRefused(RefusalCode.DisputeEnded);
        script.When("2026-11-23 close-dispute dispute=D-1 outcome=settled").ThenRefused(RefusalCode.DisputeEnded);
        script.When("2026-11-23 open-dispute dispute=D-2 claim=figure says=still").ThenAccepted();
    }

    [Fact]
    public void A_hold_because_of_a_dispute_is_released_before_the_last_dispute_is_closed()
    {
        var script = Script.Given(Put + "\n2026-11-22 hold ground=dispute reason=looked_into");
        script.When("2026-11-23 close-dispute dispute=D-1 outcome=settled").ThenRefused(RefusalCode.DisputeHoldStands);
        script.When("2026-11-23 open-dispute dispute=D-2 claim=other says=more").ThenAccepted();
        script.When("2026-11-23 close-dispute dispute=D-1 outcome=settled").ThenAccepted();
        script.When("2026-11-23 close-dispute dispute=D-2 outcome=withdrawn").ThenRefused(RefusalCode.DisputeHoldStands);
        script.When("2026-11-24 release").ThenAccepted();
        script.When("2026-11-24 close-dispute dispute=D-2 outcome=withdrawn").ThenAccepted();
    }

    /// <summary>11 U.S.C. 362(a)(6): a petition stays any act to collect a claim that arose before it (read in a copy on a law school's site).</summary>
    [Fact]
    public void Under_a_bankruptcy_no_paper_asks_for_what_is_past_due_and_a_release_says_why()
    {
        var script = Script.Given(Family);
        script.When("2026-11-15 issue kind=default-notice").ThenAccepted();
        script.When("2026-11-16 hold ground=bankruptcy reason=notice_of_the_court").ThenAccepted();
        script.When("2026-11-16 issue kind=default-notice").ThenRefused(RefusalCode.PaymentNotToBeAsked);
        Assert.Equal("11 U.S.C. § 362(a)", script.LastRefusal!.Citation);
        script.When("2026-11-16 issue kind=statement").ThenAccepted();
        script.When("2026-11-20 release").ThenRefused(RefusalCode.ReasonMissing);
        Assert.Equal("11 U.S.C. § 362(a)", script.LastRefusal!.Citation);
        script.When("2026-11-20 release reason=case_dismissed").ThenAccepted();
        script.When("2026-11-20 issue kind=default-notice").ThenAccepted();
    }

    /// <summary>50 U.S.C. 3952(a): no contract is ended for a breach without a court's order (read under its former number); releasing one says why.</summary>
    [Theory]
    [InlineData("ground=military-service", RefusalCode.ReasonMissing)]
    [InlineData("ground=dispute", null)]
    [InlineData("", null)]
    public void What_a_release_has_to_say_hangs_on_the_ground(string ground, RefusalCode? refused) =>
        Assert.Equal(refused, Script.Given(Family + $"\n2026-11-16 hold {ground} reason=told").When("2026-11-20 release").LastRefusal?.Code);

    [Theory]
    [InlineData("", true)]
    [InlineData("\n2026-11-16 hold ground=bankruptcy reason=told", false)]
    [InlineData("\n2026-11-16 hold ground=dispute reason=told", false)]
    [InlineData("\n2026-11-16 hold reason=told", false)]
    public void No_notice_is_made_by_itself_on_any_hold(string held, bool made)
    {
        var script = Script.Given(Family + held);
        var day = Day("2026-11-17");
        var account = AccountFold.At(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), day)!;
        Assert.Equal(made, new DayPlan().Of(account, day.PlusDays(-1), BusinessCalendar.Federal).Any(task => task.Kind == DayTaskKind.DefaultNotice));
    }

    [Fact]
    public void Every_ground_says_what_to_be_careful_with_and_how_it_is_known() =>
        Assert.All(HoldGround.All, ground => Assert.True(ground.Caution.Contains("counsel", StringComparison.Ordinal) && ground.Verified.Length > 0 && (ground.Citation is not null || !ground.AsksNoPayment)));

    private static LocalDate Day(string text) => LocalDatePattern.Iso.Parse(text).Value;

    private static System.Collections.Immutable.ImmutableArray<DisputeRecord> At(Script script, string day) => DisputeRecord.Of(script.Shop.History("C-1"), Day(day));

    private static DisputeReading Reading(Script script, DisputeRecord dispute) =>
        DisputeReading.Of(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), dispute);
}
