//! Compiles the schema with protox, so that no protoc is needed.

use std::{env, error::Error, fs, path::Path, path::PathBuf};

use prost::Message;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=obvert");
    let files = schema_files(Path::new("obvert"))?;
    let set = protox::Compiler::new(["."])?
        .include_source_info(true)
        .include_imports(true)
        .open_files(&files)?
        .encode_file_descriptor_set();
    let out = PathBuf::from(env::var("OUT_DIR")?);
    fs::write(out.join("schema.binpb"), &set)?;
    let set = prost_types::FileDescriptorSet::decode(set.as_slice())?;
    let mut config = prost_build::Config::new();
    config
        .btree_map(["."])
        .enable_type_names()
        .include_file("obvert.rs")
        .bytes([
            ".obvert.common.v1.Entry.body",
            ".obvert.common.v1.ImportTableRequest.data",
            ".obvert.project.v1.UploadPartsRequest.data",
            ".obvert.project.v1.DownloadResponse.data",
            ".obvert.installation.v1.ImportCureLogRequest.data",
            ".obvert.closeout.v1.DownloadPackageResponse.data",
            ".obvert.design.v1.GetCalculationSheetResponse.data",
        ]);
    tonic_prost_build::configure().compile_fds_with_config(set, config)?;
    Ok(())
}

/// Every schema file below a folder, in a fixed order.
fn schema_files(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "proto") {
                files.push(path);
            }
        }
    }
    files.sort();
    Ok(files)
}
