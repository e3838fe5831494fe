using System.Net;
using System.Text.RegularExpressions;
using Contracts.Host.Serving.Api;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>Sending again, at once, on what has moved, too much, too often and too slowly.</summary>
public sealed partial class SendingTests(Server server)
{
    private static readonly string Pay = Lines.Pay("C-1", "p-1", "21.60", "2026-09-20T12:00:00Z");

    [Fact]
    public async Task The_key_may_come_in_the_header_and_the_same_key_counts_once()
    {
        await using var running = await SignedAsync();
        var bare = Pay.Replace("\"key\":\"p-1\",", "", StringComparison.Ordinal);
        (await running.PostAsync("counter", "/v1/commands", bare)).IsProblem(400, "field-missing");
        Assert.Contains("applied", (await running.PostAsync("counter", "/v1/commands", bare, ("Idempotency-Key", "\"p-1\""))).Text, StringComparison.Ordinal);
        Assert.Contains("already", (await running.PostAsync("counter", "/v1/commands", bare, ("Idempotency-Key", "p-1"))).Text, StringComparison.Ordinal);
        Assert.Contains("already", (await running.PostAsync("counter", "/v1/commands", Pay, ("Idempotency-Key", "p-1"))).Text, StringComparison.Ordinal);
        (await running.PostAsync("counter", "/v1/commands", Pay, ("Idempotency-Key", "p-2"))).IsProblem(400, "key-differs");
        (await running.PostAsync("counter", "/v1/commands", bare, ("Idempotency-Key", "\"\""))).IsProblem(400, "field-invalid");
        (await running.PostAsync("counter", "/v1/commands", bare, ("Idempotency-Key", new string('k', 201)))).IsProblem(400, "field-invalid");
        Assert.Equal(2, (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length);
    }

    [Fact]
    public async Task Fifty_at_once_with_one_key_are_one_event()
    {
        await using var running = await SignedAsync();
        var answers = await Task.WhenAll(Enumerable.Range(0, 50).Select(_ => running.PostAsync("counter", "/v1/commands", Pay)));
        Assert.All(answers, answer => Assert.Equal(HttpStatusCode.OK, answer.Status));
        Assert.Equal(1, answers.Count(answer => answer.Text.Contains("\"applied\"", StringComparison.Ordinal)));
        Assert.Single(answers.Select(answer => RecordedAt().Match(answer.Text).Value).Distinct());
        Assert.Equal(2, (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length);
    }

    [Fact]
    public async Task A_command_that_names_nobody_is_its_senders_and_one_that_names_somebody_is_theirs()
    {
        await using var running = await SignedAsync();
        await running.PostAsync("counter", "/v1/commands", Pay);
        await running.PostAsync("counter", "/v1/commands", Lines.Pay("C-1", "p-2", "1.00", "2026-09-21T12:00:00Z").Replace("{\"do\"", "{\"by\":\"Invented\",\"do\"", StringComparison.Ordinal));
        Assert.Equal(["A manager", "A counter", "Invented"], (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Select(entry => entry.Actor));
    }

    [Fact]
    public async Task An_account_has_a_tag_that_stays_while_its_figures_do()
    {
        await using var running = await SignedAsync();
        const string pinned = "/v1/accounts/C-1?on=2026-09-20&known=2026-09-20T12:00:00Z";
        var first = await running.GetAsync("auditor", pinned);
        var tag = first.Headers["ETag"];
        Assert.Matches("^\"[0-9]+\\.[0-9a-f]{16}\"$", tag);
        var again = await running.GetAsync("auditor", pinned, ("If-None-Match", $"\"other\", {tag}"));
        Assert.Equal((HttpStatusCode.NotModified, 0), (again.Status, again.Bytes.Length));
        Assert.Equal(first.Text, (await running.GetAsync("auditor", pinned, ("If-None-Match", "\"other\""))).Text);

        // Asked as known now: the same figures keep their tag, and a tax rate that moves them changes it without an event of the contract.
        var now = (await running.GetAsync("auditor", "/v1/accounts/C-1?on=2026-12-20")).Headers["ETag"];
        Assert.StartsWith("W/", now, StringComparison.Ordinal);
        await running.AppliedAsync(Lines.Sign("C-2", "S-2", at: "2026-09-19T12:00:00Z"));
        Assert.Equal(HttpStatusCode.NotModified, (await running.GetAsync("auditor", "/v1/accounts/C-1?on=2026-12-20", ("If-None-Match", now))).Status);
        await running.AppliedAsync("""{"do":"set-tax","key":"tax-2","at":"2026-09-20T12:00:00Z","jurisdiction":"J","rate":"0.50","from":"2026-10-01","taxes":{"rent":true,"plan":false,"fees":false,"sale":true}}""");
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync("auditor", "/v1/accounts/C-1?on=2026-12-20", ("If-None-Match", now))).Status);
    }

    [Fact]
    public async Task A_command_on_what_has_moved_since_it_was_looked_at_is_refused_with_the_version_now()
    {
        await using var running = await SignedAsync();
        var seen = (await running.GetAsync("counter", "/v1/accounts/C-1?on=2026-09-20")).Headers["ETag"];
        Assert.Contains("applied", (await running.PostAsync("counter", "/v1/commands", Pay, ("If-Match", seen))).Text, StringComparison.Ordinal);
        var moved = (await running.PostAsync("counter", "/v1/commands", Lines.Pay("C-1", "p-2", "1.00", "2026-09-21T12:00:00Z"), ("If-Match", seen))).IsProblem(412, "contract-moved");
        var version = (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries[^1].Sequence;
        Assert.Contains($"\"rightFigure\":\"{version}\"", moved.Text, StringComparison.Ordinal);

        // What happened is answered as before, whatever it was sent on; the refused key stays free.
        Assert.Contains("already", (await running.PostAsync("counter", "/v1/commands", Pay, ("If-Match", seen))).Text, StringComparison.Ordinal);
        Assert.Contains("applied", (await running.PostAsync(
            "counter", "/v1/commands", Lines.Pay("C-1", "p-2", "1.00", "2026-09-21T12:00:00Z"), ("If-Match", $"\"{version}\""))).Text, StringComparison.Ordinal);
        (await running.PostAsync("counter", "/v1/commands", Pay, ("If-Match", "yesterday"))).IsProblem(400, "version-invalid");
        (await running.PostAsync("manager", "/v1/commands", Lines.Tax, ("If-Match", seen))).IsProblem(400, "version-invalid");
        (await running.PostAsync("counter", "/v1/commands/queue", Pay, ("If-Match", seen))).IsProblem(400, "version-invalid");
    }

    [Fact]
    public async Task Two_who_looked_at_the_same_version_are_not_both_heard()
    {
        await using var running = await SignedAsync();
        var seen = (await running.GetAsync("counter", "/v1/accounts/C-1?on=2026-09-20")).Headers["ETag"];
        var answers = await Task.WhenAll(Enumerable.Range(0, 20).Select(index =>
            running.PostAsync("counter", "/v1/commands", Lines.Pay("C-1", $"race-{index}", "1.00", "2026-09-20T12:00:00Z"), ("If-Match", seen))));
        Assert.Equal(1, answers.Count(answer => answer.Status == HttpStatusCode.OK));
        Assert.Equal(19, answers.Count(answer => answer.Status == HttpStatusCode.PreconditionFailed));
    }

    [Fact]
    public async Task Links_of_pages_walk_every_account_once_whatever_is_recorded_meanwhile()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        string[] ids = [.. Enumerable.Range(0, 23).Select(index => $"{"CDa"[index % 3]}-{index}")];
        await running.Store.ApplyAsync([.. ids.Select((id, index) => Lines.Sign(id, $"S-{index}"))]);
        var whole = await running.GetAsync("auditor", "/v1/accounts?on=2026-09-30&known=2026-09-19T12:00:00Z&format=jsonl");
        foreach (var limit in new[] { 1, 4, 23, 200 })
        {
            var walked = new List<string>();
            string? next = $"/v1/accounts?on=2026-09-30&limit={limit}";
            for (var page = 0; next is not null; page++)
            {
                var answer = await running.GetAsync("auditor", next);
                Assert.Equal(HttpStatusCode.OK, answer.Status);
                var found = ContractId().Matches(answer.Text).Select(match => match.Groups[1].Value).ToList();
                Assert.InRange(found.Count, 1, limit);
                walked.AddRange(found);
                next = Next().Match(answer.Headers["Link"]) is { Success: true } link ? link.Groups[1].Value : null;
                // Comes between two pages, and is on none of them.
                if (page == 0 && limit < 23) { await running.AppliedAsync(Lines.Sign($"Z-{limit}", $"Z-{limit}", at: $"2026-09-2{limit}T12:00:00Z")); }
            }

            var expected = limit switch { 1 => ids, 4 => [.. ids, "Z-1"], _ => [.. ids, "Z-1", "Z-4"] };
            Assert.Equal(expected.Order(StringComparer.Ordinal), walked);
        }

        Assert.Equal(23, ContractId().Count(whole.Text));
        (await running.GetAsync("auditor", "/v1/accounts?limit=201")).IsProblem(400, "field-invalid");
        (await running.GetAsync("auditor", "/v1/accounts?limit=0")).IsProblem(400, "field-invalid");
    }

    [Fact]
    public async Task What_is_no_request_of_the_api_is_a_problem_and_never_a_bare_status()
    {
        await using var running = await RunningApi.StartAsync(server);
        (await running.GetAsync("auditor", "/v1/nothing")).IsProblem(404, "route-unknown");
        (await running.GetAsync(null, "/v1/nothing")).IsProblem(404, "route-unknown");
        (await running.SendAsync("auditor", HttpMethod.Delete, "/v1/accounts")).IsProblem(405, "method-not-allowed");
        (await running.PostAsync("counter", "/v1/commands", new string(' ', 300_000))).IsProblem(413, "body-too-long");
        (await running.PostAsync("counter", "/v1/commands", Pay, ("Content-Type", "text/plain"))).IsProblem(415, "media-type-wrong");
        (await running.SendAsync("counter", HttpMethod.Post, "/v1/commands")).IsProblem(415, "media-type-wrong");
        (await running.GetAsync("auditor", "/v1/accounts/C-1?known=yesterday")).IsProblem(400, "date-invalid");
        (await running.GetAsync("auditor", "/v1/books?by=weekday")).IsProblem(400, "field-invalid");
        (await running.GetAsync("auditor", "/v1/months/2026-13/packet")).IsProblem(400, "date-invalid");
        (await running.GetAsync("auditor", "/v1/checkpoint")).IsProblem(404, "nothing-signed");
        (await running.PostAsync("counter", "/v1/commands/queue", CommandLines.Of("describe-household"))).IsProblem(422, "personal-fact-refused");
    }

    [Fact]
    public async Task A_body_without_a_length_is_read_no_further_than_allowed()
    {
        await using var running = await RunningApi.StartAsync(server);
        using var request = new HttpRequestMessage(HttpMethod.Post, "/v1/commands") { Content = new StreamContent(new Endless()) };
        request.Headers.TryAddWithoutValidation("Authorization", $"Bearer {running.KeyOf("counter")}");
        request.Content.Headers.TryAddWithoutValidation("Content-Type", "application/json");
        request.Headers.TransferEncodingChunked = true;
        using var response = await running.Client.SendAsync(request, TestContext.Current.CancellationToken);
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, response.StatusCode);
    }

    [Fact]
    public async Task Who_asks_too_often_is_told_how_long_to_wait()
    {
        await using var running = await RunningApi.StartAsync(server, new ApiSettings { RequestsPerSecond = 1, Burst = 3 });
        var answers = new List<Answer>();
        for (var index = 0; index < 12; index++) { answers.Add(await running.GetAsync("auditor", "/v1/law/NY")); }
        var refused = answers.First(answer => answer.Status == HttpStatusCode.TooManyRequests).IsProblem(429, "too-many-requests");
        Assert.Equal("1", refused.Headers["Retry-After"]);
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync(null, "/health/live")).Status);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Who_is_behind_a_proxy_is_believed_only_where_there_is_one(bool behindProxy)
    {
        await using var running = await RunningApi.StartAsync(server, new ApiSettings { RequestsPerSecond = 1, Burst = 3, BehindProxy = behindProxy });
        var answers = new List<Answer>();
        for (var index = 0; index < 12; index++) { answers.Add(await running.GetAsync("auditor", "/v1/law/NY", ("X-Forwarded-For", $"192.0.2.{index}"))); }
        Assert.Equal(behindProxy, answers.All(answer => answer.Status == HttpStatusCode.OK));
    }

    [Fact]
    public async Task What_takes_too_long_is_given_up_and_may_be_sent_again()
    {
        await using var running = await RunningApi.StartAsync(server, new ApiSettings { Longest = TimeSpan.FromMilliseconds(300) });
        await using var source = Npgsql.NpgsqlDataSource.Create(running.Store.Connection.Owner!);
        await using (var holder = await source.OpenConnectionAsync(TestContext.Current.CancellationToken))
        {
            // Somebody else holds the table that every read is written to.
            await using var hold = new Npgsql.NpgsqlCommand("begin; lock table access.readings in access exclusive mode", holder);
            await hold.ExecuteNonQueryAsync(TestContext.Current.CancellationToken);
            (await running.GetAsync("auditor", "/v1/accounts/C-1")).IsProblem(503, "time-limit");
        }

        (await running.GetAsync("auditor", "/v1/accounts/C-1")).IsProblem(404, "contract-unknown");
    }

    [Fact]
    public async Task A_fault_of_the_program_is_a_problem_without_its_insides()
    {
        await using var running = await SignedAsync();
        // The ground is taken away under the host, which no code of it expects.
        await running.Store.DisposeAsync();
        var answer = (await running.GetAsync("auditor", "/v1/accounts/C-1")).IsProblem(500, "internal-fault");
        Assert.Contains("\"traceId\":", answer.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("Disposed", answer.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_the_store_cannot_do_as_it_stands_is_said_in_its_words()
    {
        await using var running = await RunningApi.StartAsync(server, simulated: false);
        // A clock that was simulated and ran ahead, as after the demo.
        await Server.RunAsync(running.Store.Connection.Owner!, "update contracts.clock set simulated = true, last = '2099-01-01Z'");
        var answer = (await running.PostAsync("counter", "/v1/commands", Pay.Replace("\"at\":\"2026-09-20T12:00:00Z\",", "", StringComparison.Ordinal))).IsProblem(500, "store-fault");
        Assert.Contains("simulated clock", answer.Text, StringComparison.Ordinal);
    }

    private async Task<RunningApi> SignedAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        return running;
    }

    [GeneratedRegex("<([^>]+)>; rel=\"next\"")]
    private static partial Regex Next();

    [GeneratedRegex("\"contract\":\"([^\"]+)\"")]
    private static partial Regex ContractId();

    [GeneratedRegex("\"recordedAt\":\"[^\"]+\"")]
    private static partial Regex RecordedAt();

    private sealed class Endless : Stream
    {
        public override bool CanRead => true;

        public override bool CanSeek => false;

        public override bool CanWrite => false;

        public override long Length => throw new NotSupportedException();

        public override long Position { get => 0; set => throw new NotSupportedException(); }

        public override int Read(byte[] buffer, int offset, int count)
        {
            Array.Fill(buffer, (byte)' ', offset, count);
            return count;
        }

        public override void Flush() => throw new NotSupportedException();

        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}
