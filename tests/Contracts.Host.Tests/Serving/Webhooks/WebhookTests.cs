using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using Contracts.Host.Serving.Webhooks;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Setup;
using Contracts.Store.Webhooks;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Serving.Webhooks;

/// <summary>Events told to other programs: signed, in order, at least once, whatever fails.</summary>
public sealed class WebhookTests(Server server)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_message_is_a_cloud_event_without_people_or_free_text()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var (id, _) = await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 1);
        await running.AppliedAsync(
            """{"do":"credit","key":"g-1","at":"2026-09-21T12:00:00Z","contract":"C-1","on":"2026-09-21","amount":"1.00","by":"Invented Person","reason":"a free text"}""");
        var log = new Told();
        using var sender = new WebhookSender(running.Store, new HandClock(), log, WebhookSender.UsualPatience);
        Assert.False(await sender.RoundAsync(Stop));
        var events = (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries;
        Assert.Equal(events.Select(one => one.Sequence), receiver.All.Select(SequenceOf));
        var origin = await running.Store.Seals.OriginAsync(Stop);
        var version = 0;
        foreach (var (came, stored) in receiver.All.Zip(events))
        {
            version++;
            using var read = JsonDocument.Parse(came.Body);
            var root = read.RootElement;
            Assert.Equal("application/cloudevents+json; charset=utf-8", came.Headers["content-type"]);
            Assert.Equal("1.0", root.GetProperty("specversion").GetString());
            Assert.Equal(stored.Sequence.ToString(CultureInfo.InvariantCulture), root.GetProperty("id").GetString());
            Assert.Equal($"{id}_{stored.Sequence}", came.Headers["webhook-id"]);
            Assert.Equal("urn:contracts:store:" + origin.Split('/')[1], root.GetProperty("source").GetString());
            Assert.Equal($"contracts.{EventNames.Of(stored.Event)}.v1", root.GetProperty("type").GetString());
            Assert.Equal("C-1", root.GetProperty("subject").GetString());
            Assert.Equal(stored.At.ToString(), root.GetProperty("time").GetString());
            Assert.Equal(stored.Event.On.ToString("uuuu-MM-dd", null), root.GetProperty("effectivedate").GetString());
            Assert.Equal(version, root.GetProperty("streamversion").GetInt32());
            // CloudEvents: names of attributes are lower-case letters and digits, at most twenty.
            Assert.All(root.EnumerateObject(), one => Assert.Matches("^[a-z0-9]{1,20}$", one.Name));
            Assert.DoesNotContain("Invented Person", Encoding.UTF8.GetString(came.Body), StringComparison.Ordinal);
            Assert.DoesNotContain("free text", Encoding.UTF8.GetString(came.Body), StringComparison.Ordinal);
        }

        // What the history over HTTP says of the same event, but for who, why, by which request, and what is overtaken by now.
        using var history = JsonDocument.Parse((await running.GetAsync("auditor", "/v1/accounts/C-1/history")).Bytes);
        foreach (var (told, line) in receiver.All.Zip(history.RootElement.EnumerateArray()))
        {
            using var read = JsonDocument.Parse(told.Body);
            Assert.Equal(
                line.EnumerateObject().Where(one => one.Name is not ("by" or "reason" or "trace" or "overtaken")).Select(one => $"{one.Name}={one.Value.GetRawText()}"),
                read.RootElement.GetProperty("data").EnumerateObject().Select(one => $"{one.Name}={one.Value.GetRawText()}"));
        }
    }

    [Fact]
    public async Task The_signature_is_what_OpenSSL_computes_and_what_the_published_example_says()
    {
        // The example that libraries of Standard Webhooks are tested with.
        Assert.Equal(
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
            WebhookSignature.Of("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, "{\"test\": 2432232314}"u8));
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var (_, secret) = await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 0);
        using var sender = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        await sender.RoundAsync(Stop);
        var came = Assert.Single(receiver.All);
        var file = Path.GetTempFileName();
        try
        {
            await File.WriteAllBytesAsync(file, [.. Encoding.UTF8.GetBytes($"{came.Headers["webhook-id"]}.{came.Headers["webhook-timestamp"]}."), .. came.Body], Stop);
            var key = Convert.ToHexStringLower(Convert.FromBase64String(secret["whsec_".Length..]));
            var (exit, output, error) = await Shell.SystemAsync("openssl", "openssl", "dgst", "-sha256", "-mac", "HMAC", "-macopt", $"hexkey:{key}", "-r", file);
            Assert.True(exit == 0, error);
            Assert.Equal("v1," + Convert.ToBase64String(Convert.FromHexString(output.Split(' ')[0])), came.Headers["webhook-signature"]);
            Assert.Equal("1803902400", came.Headers["webhook-timestamp"]);
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Fact]
    public void The_message_of_the_documentation_is_genuine()
    {
        var page = File.ReadAllText(Path.Combine(Contracts.Tests.Support.Golden.Root, "docs/webhooks.md"));
        Assert.Equal(
            Found("webhook-signature: (.+)"),
            WebhookSignature.Of(
                Found("`(whsec_[^`]+)`, of"), Found("webhook-id: (.+)"), long.Parse(Found("webhook-timestamp: (.+)"), CultureInfo.InvariantCulture),
                Encoding.UTF8.GetBytes(Found("(\\{\"specversion\".+)"))));

        string Found(string pattern) => System.Text.RegularExpressions.Regex.Match(page, pattern).Groups[1].Value;
    }

    [Fact]
    public async Task Three_failures_hold_up_the_events_behind_and_then_all_come_in_order_and_none_twice()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var clock = new HandClock();
        await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 5);
        var failures = 0;
        receiver.Answer = (context, came) =>
        {
            context.Response.StatusCode = StreamVersionOf(came) == 3 && ++failures <= 3 ? 503 : 200;
            return Task.CompletedTask;
        };
        for (var round = 1; round <= 3; round++)
        {
            // Another sender each time: what it knows of failures is in the database.
            using var sender = new WebhookSender(running.Store, clock, new Told(), WebhookSender.UsualPatience);
            await sender.RoundAsync(Stop);
            var hook = Assert.Single(await running.Store.Webhooks.ListAsync(Stop));
            Assert.Equal((round, 4L, "answered 503"), (hook.Attempts, hook.Lag, hook.LastError));
            var wait = hook.NextAt!.Value - Instant.FromDateTimeOffset(clock.GetUtcNow());
            var longest = Duration.FromSeconds(10 << (round - 1));
            Assert.InRange(wait, longest / 2, longest);
            // Just before its time nothing is sent.
            clock.Move(wait.ToTimeSpan() - TimeSpan.FromMilliseconds(1));
            var before = receiver.All.Count;
            await sender.RoundAsync(Stop);
            Assert.Equal(before, receiver.All.Count);
            clock.Move(TimeSpan.FromMilliseconds(2));
        }

        using (var sender = new WebhookSender(running.Store, clock, new Told(), WebhookSender.UsualPatience)) { await sender.RoundAsync(Stop); }
        Assert.Equal([1, 2, 3, 3, 3, 3, 4, 5, 6], receiver.All.Select(StreamVersionOf));
        // The same message each time, signed for its own moment.
        var same = receiver.All.Where(came => StreamVersionOf(came) == 3).ToList();
        Assert.Single(same.Select(came => came.Headers["webhook-id"] + Encoding.UTF8.GetString(came.Body)).Distinct());
        Assert.Equal(4, same.Select(came => came.Headers["webhook-timestamp"]).Distinct().Count());
        var good = Assert.Single(await running.Store.Webhooks.ListAsync(Stop));
        Assert.Equal((0, 0L, null), (good.Attempts, good.Lag, good.NextAt));
    }

    [Fact]
    public async Task A_host_that_is_stopped_goes_on_where_it_was()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 4);
        using var stopping = new CancellationTokenSource();
        receiver.Answer = async (context, came) =>
        {
            if (StreamVersionOf(came) != 3) { return; }
            // The host goes down while the receiver is thinking.
            await stopping.CancelAsync();
            await Task.Delay(Timeout.Infinite, context.RequestAborted).ContinueWith(static _ => { }, TaskScheduler.Default);
        };
        using (var first = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience))
        {
            await Assert.ThrowsAnyAsync<OperationCanceledException>(() => first.RoundAsync(stopping.Token));
        }

        var hook = Assert.Single(await running.Store.Webhooks.ListAsync(Stop));
        Assert.Equal((3L, 0, null), (hook.Lag, hook.Attempts, hook.LastError));
        receiver.Say(202);
        using var second = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        await second.RoundAsync(Stop);
        Assert.Equal([1, 2, 3, 3, 4, 5], receiver.All.Select(StreamVersionOf));
    }

    [Fact]
    public async Task Two_hosts_at_once_send_each_event_once()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 3);
        await using var other = await ContractsStore.OpenAsync(running.Store.Connection, running.Store.Settings);
        using var one = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        using var two = new WebhookSender(other, new HandClock(), new Told(), WebhookSender.UsualPatience);
        var meanwhile = new List<bool>();
        receiver.Answer = async (context, _) =>
        {
            // While the one host waits for this answer, the other one looks.
            meanwhile.Add(await two.RoundAsync(Stop));
            context.Response.StatusCode = 200;
        };
        await one.RoundAsync(Stop);
        Assert.Equal([1, 2, 3, 4], receiver.All.Select(StreamVersionOf));
        Assert.Equal([false, false, false, false], meanwhile);
        receiver.Say(200);
        await running.AppliedAsync(Lines.Pay("C-1", "later", "1.00", "2026-10-01T12:00:00Z"));
        await two.RoundAsync(Stop);
        Assert.Equal(5, receiver.All.Count);
    }

    [Fact]
    public async Task An_event_that_is_recorded_slowly_is_not_passed_over_by_one_that_was_quicker()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        await LivesAsync(running, payments: 1);
        await running.Store.Webhooks.AddAsync(receiver.Url, null, false, 0, "An owner", Stop);
        using var sender = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        await using var slow = new NpgsqlConnection(running.Store.Connection.Owner!);
        await slow.OpenAsync(Stop);
        await using var transaction = await slow.BeginTransactionAsync(Stop);
        await RunAsync(slow, $"select pg_advisory_xact_lock({StoreSchema.WriterLock})");
        // A writer has its number and has not committed; a larger number is there already.
        await RunAsync(slow, Copy("2", "nextval('contracts.mt_events_sequence')"));
        await Server.RunAsync(running.Store.Connection.Owner!, Copy("3", "1000"));
        var round = sender.RoundAsync(Stop);
        await UntilAsync(running.Store.Connection.Owner!, "select exists (select from pg_locks where locktype = 'advisory' and not granted)", round);
        await transaction.CommitAsync(Stop);
        await round;
        Assert.Equal([1, 2, 12, 13], receiver.All.Select(StreamVersionOf));

        static string Copy(string version, string sequence) => $"""
            insert into contracts.mt_events (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, mt_dotnet_type, headers, is_archived)
            select {sequence}, gen_random_uuid(), stream_id, 10 + {version}, data, type, timestamp, tenant_id, mt_dotnet_type, headers, is_archived
            from contracts.mt_events where stream_id = 'C-1' and version = 2
            """;
    }

    [Fact]
    public async Task Gone_pauses_at_once_many_failures_in_the_end_and_send_again_goes_on()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var clock = new HandClock();
        var log = new Told();
        var (id, secret) = await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 2);
        using var sender = new WebhookSender(running.Store, clock, log, WebhookSender.UsualPatience);
        receiver.Say(410);
        await sender.RoundAsync(Stop);
        var gone = Assert.Single(await running.Store.Webhooks.ListAsync(Stop));
        Assert.Equal(("answered 410: it wants nothing more", 3L, null), (gone.PausedBecause, gone.Lag, gone.NextAt));
        clock.Move(TimeSpan.FromDays(30));
        await sender.RoundAsync(Stop);
        Assert.Single(receiver.All);
        var again = await Shell.ContractsAsync(running.Database, "webhook", "send-again", id);
        Assert.True(again.Exit == 0, again.Error);
        receiver.Say(500);
        for (var attempt = 1; attempt <= 16; attempt++)
        {
            Assert.Null(Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).PausedBecause);
            await sender.RoundAsync(Stop);
            clock.Move(TimeSpan.FromHours(6));
        }

        Assert.Equal("16 attempts in a row failed; the last: answered 500", Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).PausedBecause);
        Assert.Equal(17, receiver.All.Count);
        receiver.Say(200);
        Assert.Equal(0, (await Shell.ContractsAsync(running.Database, "webhook", "send-again", id)).Exit);
        await sender.RoundAsync(Stop);
        Assert.Equal([1, 2, 3], receiver.All.Skip(17).Select(StreamVersionOf));
        // From a number on, all of it once more and in order, with the same ids.
        var second = SequenceOf(receiver.All[^2]);
        Assert.Equal(0, (await Shell.ContractsAsync(running.Database, "webhook", "send-again", id, "--from", second.ToString(CultureInfo.InvariantCulture))).Exit);
        await sender.RoundAsync(Stop);
        Assert.Equal([2, 3], receiver.All.Skip(20).Select(StreamVersionOf));
        Assert.Equal(receiver.All.Skip(18).Take(2).Select(came => came.Headers["webhook-id"]), receiver.All.Skip(20).Select(came => came.Headers["webhook-id"]));
        Assert.NotEmpty(log.Lines);
        Assert.All(log.Lines, line => Assert.False(line.Contains(secret, StringComparison.Ordinal) || line.Contains(secret["whsec_".Length..], StringComparison.Ordinal), line));
    }

    [Fact]
    public async Task What_is_asked_for_again_while_a_host_is_at_it_is_sent_and_who_is_removed_is_told_no_more()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var (id, _) = await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 3);
        using var sender = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        receiver.Answer = async (_, came) =>
        {
            if (receiver.All.Count == 3) { await running.Store.Webhooks.SendAgainAsync(id, SequenceOf(receiver.All[0]), Stop); }
            if (receiver.All.Count == 5) { await running.Store.Webhooks.RemoveAsync(id, "An owner", Stop); }
        };
        Assert.True(await sender.RoundAsync(Stop));
        await sender.RoundAsync(Stop);
        await sender.RoundAsync(Stop);
        Assert.Equal([1, 2, 3, 1, 2], receiver.All.Select(StreamVersionOf));
        Assert.False(await running.Store.Webhooks.SendAgainAsync(id, 1, Stop));
        Assert.NotNull(Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).RemovedAt);
    }

    [Fact]
    public async Task A_webhook_is_told_the_events_it_asked_for_and_one_that_fails_holds_up_no_other()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var broken = await Receiver.StartAsync();
        broken.Say(500);
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Webhooks.AddAsync(broken.Url, null, false, null, "An owner", Stop);
        await running.Store.Webhooks.AddAsync(receiver.Url, ["payment_received"], false, null, "An owner", Stop);
        await LivesAsync(running, payments: 2);
        using var sender = new WebhookSender(running.Store, new HandClock(), new Told(), WebhookSender.UsualPatience);
        await sender.RoundAsync(Stop);
        Assert.Equal([2, 3], receiver.All.Select(StreamVersionOf));
        Assert.Single(broken.All);
        Assert.Equal([3L, 0L], (await running.Store.Webhooks.ListAsync(Stop)).Select(hook => hook.Lag));
    }

    [Fact]
    public async Task No_redirect_is_followed_and_a_slow_answer_is_none()
    {
        await using var receiver = await Receiver.StartAsync();
        await using var running = await RunningApi.StartAsync(server);
        var clock = new HandClock();
        await running.Store.Webhooks.AddAsync(receiver.Url, null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 0);
        using var sender = new WebhookSender(running.Store, clock, new Told(), TimeSpan.FromMilliseconds(500));
        receiver.Answer = (context, _) =>
        {
            context.Response.StatusCode = 307;
            context.Response.Headers.Location = receiver.Url + "/elsewhere";
            return Task.CompletedTask;
        };
        await sender.RoundAsync(Stop);
        Assert.Equal("answered 307: a redirect is not followed", Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).LastError);
        Assert.Equal("/events", Assert.Single(receiver.All).Path);

        receiver.Answer = (context, _) => Task.Delay(Timeout.Infinite, context.RequestAborted).ContinueWith(static _ => { }, TaskScheduler.Default);
        clock.Move(TimeSpan.FromHours(6));
        await sender.RoundAsync(Stop);
        Assert.Equal("no answer within 0.5 seconds", Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).LastError);
    }

    [Fact]
    public async Task An_endless_answer_is_taken_and_not_read()
    {
        // A plain socket: a web server goes on taking what is written for a reader who has gone, so its own count says nothing.
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var answering = AnswerWithoutEndAsync(listener);
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Webhooks.AddAsync(new Uri($"http://127.0.0.1:{((IPEndPoint)listener.LocalEndpoint).Port}/events").ToString(), null, false, null, "An owner", Stop);
        await LivesAsync(running, payments: 0);
        using var sender = new WebhookSender(running.Store, new HandClock(), new Told(), TimeSpan.FromSeconds(20));
        await sender.RoundAsync(Stop);
        Assert.Equal(0, Assert.Single(await running.Store.Webhooks.ListAsync(Stop)).Lag);
        // What the buffers of both sides hold, and no more.
        Assert.InRange(await answering.WaitAsync(TimeSpan.FromSeconds(30), Stop), 0, 32L << 20);
    }

    private static async Task<long> AnswerWithoutEndAsync(TcpListener listener)
    {
        using var socket = await listener.AcceptSocketAsync(Stop);
        var piece = new byte[1 << 16];
        await socket.ReceiveAsync(piece, Stop);
        await socket.SendAsync("HTTP/1.1 200 OK\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n"u8.ToArray(), Stop);
        var sent = 0L;
        try
        {
            while (true) { sent += await socket.SendAsync(piece, Stop); }
        }
        catch (SocketException)
        {
            return sent;
        }
    }

    [Fact]
    public async Task A_running_host_tells_what_it_and_others_write_and_keeps_the_secret_to_itself()
    {
        await using var receiver = await Receiver.StartAsync();
        var log = new Told();
        await using var running = await RunningApi.StartAsync(server, more: builder => builder.Services.AddSingleton<IHostedService>(services => new BackgroundWebhooks(
            services.GetRequiredService<ContractsStore>(), TimeProvider.System, log)));
        var made = await Shell.ContractsAsync(running.Database, "webhook", "add", receiver.Url, "--by", "An owner");
        Assert.True(made.Exit == 0, made.Error);
        var secret = made.Output.Trim();
        Assert.Matches("^whsec_[A-Za-z0-9+/]{43}=$", secret);
        Assert.DoesNotContain(secret, made.Error, StringComparison.Ordinal);
        await LivesAsync(running, payments: 1);
        Assert.Equal(1, StreamVersionOf(await receiver.NextAsync()));
        Assert.Equal(2, StreamVersionOf(await receiver.NextAsync()));
        // Another process: the host hears nothing of it and looks by itself.
        await using (var other = await ContractsStore.OpenAsync(running.Store.Connection, running.Store.Settings))
        {
            await other.ApplyAsync(Lines.Pay("C-1", "elsewhere", "1.00", "2026-09-25T12:00:00Z"));
        }

        var last = await receiver.NextAsync();
        Assert.Equal(3, StreamVersionOf(last));
        Assert.Equal(
            WebhookSignature.Of(secret, last.Headers["webhook-id"], long.Parse(last.Headers["webhook-timestamp"], CultureInfo.InvariantCulture), last.Body), last.Headers["webhook-signature"]);
        foreach (var format in new[] { "table", "json", "jsonl", "csv" })
        {
            var list = await Shell.ContractsAsync(running.Database, "webhook", "list", "--format", format);
            Assert.True(list.Exit == 0 && list.Output.Contains(receiver.Url[..20], StringComparison.Ordinal), list.Error);
            Assert.DoesNotContain("whsec", list.Output + list.Error, StringComparison.Ordinal);
            Assert.DoesNotContain(secret["whsec_".Length..], list.Output + list.Error, StringComparison.Ordinal);
        }
    }

    private static async Task LivesAsync(RunningApi running, int payments)
    {
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        for (var number = 1; number <= payments; number++) { await running.AppliedAsync(Lines.Pay("C-1", $"p-{number}", "2.00", $"2026-09-02T12:00:0{number}Z")); }
    }

    private static long SequenceOf(Came came) => long.Parse(Member(came, "id").GetString()!, CultureInfo.InvariantCulture);

    private static int StreamVersionOf(Came came) => Member(came, "streamversion").GetInt32();

    private static JsonElement Member(Came came, string name)
    {
        using var read = JsonDocument.Parse(came.Body);
        return read.RootElement.GetProperty(name).Clone();
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(Stop);
    }

    /// <summary>Waits until the database says so, or what should wait for it has ended.</summary>
    private static async Task UntilAsync(string connection, string question, Task meanwhile)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        var since = Stopwatch.StartNew();
        while (!meanwhile.IsCompleted)
        {
            await using var command = source.CreateCommand(question);
            if (await command.ExecuteScalarAsync(Stop) is true) { return; }
            Assert.True(since.Elapsed < TimeSpan.FromSeconds(30), "nobody waited");
        }
    }

    /// <summary>Keeps what is logged.</summary>
    private sealed class Told : ILogger<BackgroundWebhooks>
    {
        public ConcurrentQueue<string> Lines { get; } = new();

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Lines.Enqueue(formatter(state, exception) + exception);
    }
}
