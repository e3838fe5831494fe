using Contracts.Agreements;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Proposals;

/// <summary>What takes two persons: proposed by one, approved by another, and both on record. Common practice, no source.</summary>
public sealed class ProposalTests
{
    private readonly InMemoryShop shop = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash").Shop;

    [Fact]
    public void An_approved_change_is_recorded_with_both_names_and_the_makers_reason()
    {
        Accepted(Propose("P-1", "ana", """{"do":"credit","contract":"C-1","on":"2026-09-06","amount":"80.00"}"""));
        var before = shop.History("C-1").Entries.Length;
        Accepted(Approve("P-1", "bo"));
        var entry = shop.History("C-1").Entries[before];
        Assert.IsType<ContractEvent.CreditGiven>(entry.Event);
        Assert.Equal(("ana", "bo", "a promise", "proposal:P-1"), (entry.Actor, entry.Approved, entry.Reason, entry.Key));
    }

    [Fact]
    public void A_proposal_changes_nothing_before_it_is_approved()
    {
        var before = shop.History("C-1").Entries.Length;
        Accepted(Propose("P-1", "ana", Hold));
        Accepted(Decline("P-1", "bo"));
        Assert.Equal(before, shop.History("C-1").Entries.Length);
    }

    [Theory]
    [InlineData("ana")]
    [InlineData("Ana")]
    [InlineData(" ANA ")]
    public void Nobody_approves_what_they_proposed(string name)
    {
        Accepted(Propose("P-1", "ana", Hold));
        Assert.Equal(RefusalCode.SecondPersonNeeded, Approve("P-1", name)!.Code);
        Accepted(Approve("P-1", "bo"));
    }

    [Fact]
    public void Who_made_a_proposal_may_take_it_back()
    {
        Accepted(Propose("P-1", "ana", Hold));
        Accepted(Decline("P-1", "ana"));
        Assert.Equal(RefusalCode.ProposalSettled, Approve("P-1", "bo")!.Code);
    }

    [Fact]
    public void A_proposal_is_decided_once()
    {
        Accepted(Propose("P-1", "ana", Hold));
        Accepted(Approve("P-1", "bo"));
        Assert.Equal((RefusalCode.ProposalSettled, "proposal"), (Approve("P-1", "cy")!.Code, Approve("P-1", "cy")!.Field));
        Assert.Equal(RefusalCode.ProposalSettled, Decline("P-1", "cy")!.Code);
        Assert.Equal(RefusalCode.ProposalAlreadyMade, Propose("P-1", "dee", Hold)!.Code);
    }

    [Fact]
    public void What_was_not_proposed_is_not_decided_on()
    {
        Assert.Equal(RefusalCode.ProposalUnknown, Approve("P-9", "bo")!.Code);
        Assert.Equal(RefusalCode.ProposalUnknown, Decline("P-9", "bo")!.Code);
    }

    [Fact]
    public void What_the_rules_refuse_cannot_be_proposed_and_what_they_refuse_by_now_cannot_be_approved()
    {
        Assert.Equal(RefusalCode.FeeUnknown, Propose("P-1", "ana", """{"do":"waive","contract":"C-1","on":"2026-09-06","fee":"late:2026-09-05"}""")!.Code);
        Accepted(Propose("P-2", "ana", Hold));
        Accepted(Propose("P-3", "cy", Hold));
        Accepted(Approve("P-2", "bo"));
        Assert.Equal(RefusalCode.StatusForbids, Approve("P-3", "bo")!.Code);
        Accepted(Decline("P-3", "bo"));
    }

    [Theory]
    [InlineData("""{"do":"hold","contract":"C-1","on":"2026-09-06","key":"mine"}""", "change.key")]
    [InlineData("""{"do":"hold","contract":"C-1","on":"2026-09-06","by":"bo"}""", "change.by")]
    [InlineData("""{"do":"hold","contract":"C-1","on":"2026-09-06","at":"2026-09-06T12:00:00Z"}""", "change.at")]
    [InlineData("""{"do":"approve","proposal":"P-0"}""", "change.do")]
    [InlineData("""{"do":"bill","through":"2026-09-06"}""", "change.do")]
    [InlineData("""{"do":"describe-household","household":"H","facts":{"name":"Invented"}}""", "change.do")]
    [InlineData("""{"do":"hold","contract":"C-1"}""", "change.on")]
    [InlineData("""[1]""", "change")]
    public void A_change_is_written_like_a_line_without_key_actor_and_moment(string change, string field) =>
        Assert.Equal(field, Propose("P-1", "ana", change)!.Field);

    [Fact]
    public void A_change_with_bytes_that_are_no_text_is_refused()
    {
        var line = System.Text.Encoding.Latin1.GetBytes("""{"do":"propose","key":"k","proposal":"P-1","reason":"r","change":{"do":"hold","c\u00ffntract":"C-1","on":"2026-09-06"}}""".Replace("\\u00ff", "\u00ff", StringComparison.Ordinal));
        var (read, refusal) = Contracts.Commands.CommandReader.Read(line);
        Assert.Null(read);
        Assert.Equal((RefusalCode.FieldInvalid, "change"), (refusal!.Code, refusal.Field));
    }

    [Fact]
    public void A_proposal_names_its_maker_and_says_why()
    {
        Assert.Equal("by", shop.Apply(Line("propose", "P-1", null, Hold, "why"))!.Field);
        Assert.Equal(RefusalCode.ReasonMissing, shop.Apply(Line("propose", "P-1", "ana", Hold, null))!.Code);
        Accepted(Propose("P-1", "ana", Hold));
        Assert.Equal("by", shop.Apply(Line("approve", "P-1", null, null, null))!.Field);
        Assert.Equal(RefusalCode.ReasonMissing, shop.Apply(Line("decline", "P-1", "bo", null, null))!.Code);
    }

    [Fact]
    public void The_close_of_a_month_can_be_proposed() =>
        Accepted(Propose("P-1", "fin", """{"do":"close","month":"2026-08"}"""));

    private const string Hold = """{"do":"hold","contract":"C-1","on":"2026-09-06"}""";

    private int number;

    private Refusal? Propose(string id, string by, string change) => shop.Apply(Line("propose", id, by, change, "a promise"));

    private Refusal? Approve(string id, string by) => shop.Apply(Line("approve", id, by, null, null));

    private Refusal? Decline(string id, string by) => shop.Apply(Line("decline", id, by, null, "not so"));

    private string Line(string name, string id, string? by, string? change, string? reason) =>
        $$"""{"do":"{{name}}","key":"k{{++number}}","at":"2026-09-06T12:00:00Z","proposal":"{{id}}"{{(by is null ? "" : $",\"by\":\"{by}\"")}}{{(change is null ? "" : $",\"change\":{change}")}}{{(reason is null ? "" : $",\"reason\":\"{reason}\"")}}}""";

    private static void Accepted(Refusal? refusal) => Assert.Null(refusal);
}
