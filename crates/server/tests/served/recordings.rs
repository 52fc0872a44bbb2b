//! Recordings measured over HTTP, against closed forms: the level of a sine of peak p is 20·lg p below that of a full-scale sine, and
//! A and C are 0 dB at 1 kHz (IEC 61672-1). The meter's own numbers are tested where it is made.

use std::f64::consts::PI;

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::{Value, json};
use storypole_desk::edge;

use crate::asked::{Answer, Served, draft, write};

const RATE_HZ: u32 = 48_000;

/// Mono, 16 bits, as RIFF has it.
pub fn wav(samples: &[f64]) -> Vec<u8> {
    let data: Vec<u8> =
        samples.iter().flat_map(|sample| ((sample * 32_767.0).round() as i16).to_le_bytes()).collect();
    let size = data.len() as u32;
    let mut file = b"RIFF".to_vec();
    file.extend((36 + size).to_le_bytes());
    file.extend(b"WAVEfmt ");
    for (number, bytes) in [(16, 4), (1, 2), (1, 2), (RATE_HZ, 4), (2 * RATE_HZ, 4), (2, 2), (16, 2)] {
        file.extend(&number.to_le_bytes()[..bytes]);
    }
    file.extend(b"data");
    file.extend(size.to_le_bytes());
    file.extend(data);
    file
}

/// A sine whose peak is told second by second.
fn tone(hz: f64, peaks: &[f64]) -> Vec<f64> {
    let count = peaks.len() * RATE_HZ as usize;
    let at = |n: usize| peaks[n / RATE_HZ as usize] * (2.0 * PI * hz * n as f64 / f64::from(RATE_HZ)).sin();
    (0..count).map(at).collect()
}

async fn kept(served: &Served, bytes: &[u8]) -> String {
    let request = served.request(Method::POST, "/api/attachments").body(Body::from(bytes.to_vec())).unwrap();
    served.answer(request).await.json()["hash"].as_str().unwrap().to_owned()
}

async fn measured(served: &Served, hash: &str, query: &str) -> Value {
    let answer = served.get(&format!("/api/recordings/{hash}?{query}")).await;
    assert_eq!(answer.status, 200, "{query}: {}", answer.text());
    answer.json()
}

async fn refused(served: &Served, hash: &str, query: &str) -> Answer {
    served.get(&format!("/api/recordings/{hash}?{query}")).await
}

#[track_caller]
fn close(got: &Value, expected_db: f64, within_db: f64) {
    let got_db = got.as_f64().expect("there is a level");
    assert!((got_db - expected_db).abs() <= within_db, "{got_db}, not {expected_db}");
}

#[tokio::test]
async fn a_tone_has_the_level_of_its_peak() {
    let served = Served::new();
    let hash = kept(&served, &wav(&tone(1000.0, &[0.5; 5]))).await;
    // 20·lg 0.5 = -6.0206 dB.
    let plain = measured(&served, &hash, "").await;
    for level in ["LAeq", "LCeq", "LZeq"] {
        close(&plain["levels"][level], -6.0206, 0.02);
    }
    assert_eq!((&plain["calibrated"], &plain["reading"]), (&json!(false), &Value::Null));
    assert!(plain["no_reading_because"].as_str().unwrap().contains("full scale"), "{plain}");
    assert_eq!(plain["history"].as_array().unwrap().len(), 5);
    let told = measured(&served, &hash, "full_scale=90&unit=dBC").await;
    close(&told["levels"]["LAeq"], 83.9794, 0.02);
    let band = told["third_octaves"].as_array().unwrap().iter().find(|row| row["band"] == 1000.0).unwrap();
    close(&band["level"], 83.9794, 0.05);
    let reading = &told["reading"];
    assert_eq!(reading["value"].as_str().unwrap().split(' ').nth(1), Some("dBC"));
    assert_eq!((&reading["response"], &reading["duration_s"]), (&json!("leq"), &json!("5.0")));
    assert_eq!(reading["calibration"], "full-scale sine = 90 dB, as told");
    assert_eq!(
        (&reading["clipped"], &reading["lossy"], &told["hearing"]),
        (&Value::Null, &Value::Null, &Value::Null)
    );
    // A of 100 Hz is -19.1 dB: IEC 61672-1 table 3, as A.
    let low = kept(&served, &wav(&tone(100.0, &[0.5; 5]))).await;
    close(&measured(&served, &low, "full_scale=120").await["levels"]["LAeq"], 120.0 - 6.02 - 19.1, 0.1);
}

#[tokio::test]
async fn what_is_cut_out_is_told_and_does_not_count() {
    let served = Served::new();
    let mut peaks = [0.05; 10];
    peaks[5] = 0.5;
    let hash = kept(&served, &wav(&tone(1000.0, &peaks))).await;
    let cut = measured(&served, &hash, "full_scale=117&cut=5-6%20a%20truck%20passed").await;
    // 117 + 20·lg 0.05; and with it 117 + 10·lg((9·0.05² + 0.5²)/10). The filters ring a little into the next second.
    close(&cut["levels"]["LAeq"], 90.979, 0.1);
    close(&cut["levels_uncut"]["LAeq"], 101.353, 0.1);
    assert_eq!(cut["cut_out"], json!(["5 to 6 s: a truck passed"]));
    assert_eq!(cut["reading"]["cut_out"], "5 to 6 s: a truck passed; with it 101.4 dBA");
    assert_eq!(
        (&cut["reading"]["duration_s"], cut["history"].as_array().unwrap().len()),
        (&json!("9.0"), 10)
    );
    assert!(cut["hearing"].as_str().unwrap().contains("NIOSH"), "{cut}");
    for (typed, why) in [
        ("12-15%20a%20truck", "ends after the recording"),
        ("0-10%20all%20of%20it", "nothing is left"),
        ("5-6", "a reason is missing"),
    ] {
        let said = refused(&served, &hash, &format!("full_scale=117&cut={typed}")).await;
        assert!(said.text().contains(why), "{typed}: {}", said.text());
        assert!(said.json()["next"].as_str().is_some_and(|next| !next.is_empty()));
    }
}

#[tokio::test]
async fn clipping_is_told_and_kept() {
    let served = Served::new();
    let loud: Vec<f64> = tone(100.0, &[2.0; 3]).iter().map(|sample| sample.clamp(-1.0, 1.0)).collect();
    let hash = kept(&served, &wav(&loud)).await;
    let measured = measured(&served, &hash, "full_scale=117").await;
    // A top and a bottom in each of 300 waves.
    let count: u32 = measured["reading"]["clipped"].as_str().unwrap().parse().unwrap();
    assert!((598..=600).contains(&count), "{count}");
    assert!(measured["oddities"].to_string().contains("clipped"));
}

#[tokio::test]
async fn full_scale_comes_from_a_calibrator_or_the_meter() {
    let served = Served::new();
    let calibrator = kept(&served, &wav(&tone(1000.0, &[0.25; 6]))).await;
    let hash = kept(&served, &wav(&tone(1000.0, &[0.5; 5]))).await;
    // Twice the peak is 6.0206 dB more than the calibrator's 94 dB.
    let query = format!("calibration={calibrator}&calibrator=94");
    let by_calibrator = measured(&served, &hash, &query).await;
    close(&by_calibrator["levels"]["LAeq"], 100.0206, 0.05);
    assert!(by_calibrator["calibration"].as_str().unwrap().contains("106.0 dB, from a calibrator of 94 dB"));
    refused(&served, &hash, &format!("calibration={calibrator}")).await.is_refused(400, "bad-query");
    let noise = kept(&served, &wav(&tone(1000.0, &[0.25, 0.5, 0.25, 0.5, 0.25, 0.5]))).await;
    refused(&served, &hash, &format!("calibration={noise}&calibrator=94"))
        .await
        .is_refused(422, "no-recording");

    let meter = edge::record_id();
    let new = [write(meter, "meter", "label", "M7"), write(meter, "meter", "meter_kind", "recorder")];
    assert_eq!(served.put(edge::draft_id(), &draft(&new)).await.status, 201);
    refused(&served, &hash, "meter=M7").await.is_refused(422, "no-recording");
    let first = served.get(&format!("/api/recordings/{hash}?full_scale=117")).await;
    let noted = [write(meter, "meter", "full_scale", "117")];
    assert_eq!(served.put(edge::draft_id(), &draft(&noted)).await.status, 201);
    let by_meter = measured(&served, &hash, "meter=M7").await;
    assert_eq!(by_meter["levels"], first.json()["levels"]);
    assert_eq!(by_meter["reading"]["calibration"], "full-scale sine = 117 dB, as noted for M7");
    // What was measured stands, whatever else is written.
    let path = format!("/api/recordings/{hash}?full_scale=117");
    let request =
        served.request(Method::GET, &path).header(header::IF_NONE_MATCH, first.header(header::ETAG));
    assert_eq!(served.answer(request.body(Body::empty()).unwrap()).await.status, 304);
}

#[tokio::test]
async fn what_cannot_be_measured_is_refused_with_a_next_step() {
    let served = Served::new();
    let hash = kept(&served, &wav(&tone(1000.0, &[0.5; 2]))).await;
    let words = kept(&served, b"this is no sound").await;
    let cut_short = kept(&served, &wav(&[0.5; 9])[..30]).await;
    for (hash, query, status, code) in [
        (words.as_str(), "", 422, "no-recording"),
        (&cut_short, "", 422, "no-recording"),
        (&hash, "channel=2", 422, "no-recording"),
        (&hash, "channel=0", 400, "bad-query"),
        (&hash, "full_scale=11.7", 400, "bad-query"),
        (&hash, "full_scale=117&meter=M1", 400, "bad-query"),
        (&hash, "unit=lx", 400, "bad-query"),
        (&hash, "meter=M9", 404, "no-such-record"),
        (&"0".repeat(64), "", 404, "no-such-file"),
        ("J1", "", 400, "bad-path"),
    ] {
        refused(&served, hash, query).await.is_refused(status, code);
    }
    let silent = measured(&served, &kept(&served, &wav(&[0.0; 96_000])).await, "full_scale=117").await;
    assert!(silent["levels"]["LAeq"].is_null() && silent["reading"].is_null());
    assert!(silent["no_reading_because"].as_str().unwrap().contains("silent"), "{silent}");
}
